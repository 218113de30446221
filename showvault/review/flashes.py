"""Flashing that is new or faster: strobes, effects, chains of follows.

Only cues whose look or timing differs are looked at. What is not found is not thereby safe.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from msgspec import UnsetType

from showvault.look.chains import CueOrder, CueRef, chain_from
from showvault.look.fixtures import Rig
from showvault.look.flashing import chain_rate, effect_rate, strobe_of
from showvault.look.levels import ABSENT
from showvault.look.tracking import Look, NoSuchLookError, TrackedList, look_of, track_list
from showvault.review.effect import CueEffect
from showvault.review.pairs import cues_of
from showvault.review.plays import Play
from showvault.review.suspects import Sides
from showvault.show.addressing import Thing, cue_order, place_order
from showvault.show.model import Show

Rate = Fraction | None
"""Flashes a second; None for a strobe whose rate nobody tells."""


@dataclass(frozen=True)
class Flashing:
    """Something that flashes in a cue and did not, or faster than it did."""

    cue: Thing
    by: Literal["strobe", "effect", "chain"]
    fixtures: tuple[str, ...]
    effect: str
    """The effect's place; empty for a strobe or a chain."""
    before: Rate
    """0 where nothing flashed."""
    after: Rate


def find_flashing(
    sides: Sides, effects: Sequence[CueEffect], plays: Sequence[Play]
) -> list[Flashing]:
    """Return what flashes newly or faster, strobes first."""
    return [
        *_strobes(sides, effects),
        *_effects(sides),
        *_chains(sides, {*(e.cue for e in effects), *(p.thing for p in plays)}),
    ]


def _strobes(sides: Sides, effects: Iterable[CueEffect]) -> Iterator[Flashing]:
    for effect in effects:
        for shift in effect.shifts:
            old_key = sides.pairs.old_key(shift.fixture) or ""
            before = _strobe_rate(sides.before_rig, old_key, shift.attribute, shift.before)
            after = _strobe_rate(sides.after_rig, shift.fixture, shift.attribute, shift.after)
            if _worse(before, after):
                yield Flashing(effect.cue, "strobe", (shift.fixture,), "", before, after)


def _strobe_rate(rig: Rig, key: str, attribute: str, level: int) -> Rate:
    channel = rig.channel(key, attribute)
    found = strobe_of(key, channel, level) if channel is not None and level != ABSENT else None
    return Fraction(0) if found is None else found.rate


def _worse(before: Rate, after: Rate) -> bool:
    if after is None:
        return before is not None
    return after > 0 and before is not None and after > before


def _effects(sides: Sides) -> Iterator[Flashing]:
    for cues in sides.pairs.lists():
        numbers = sorted(cues_of(sides.after, cues.new_list), key=cue_order)
        for number in numbers:
            before = _started(sides.before, cues.old_list, cues.old.get(number, ""))
            after = _started(sides.after, cues.new_list, number)
            for effect in sorted(after, key=place_order):
                old = sides.pairs.old_name(Thing("effect", effect))
                was = before.get(old.id, Fraction(0)) if old is not None else Fraction(0)
                if after[effect] > was:
                    fixtures = (sides.after.effects or {})[effect].fixtures or []
                    cue = Thing("cue", number, cues.new_list)
                    yield Flashing(
                        cue, "effect", tuple(map(str, fixtures)), effect, was, after[effect]
                    )


def _started(show: Show, list_number: str, number: str) -> dict[str, Fraction]:
    """Return the rates of the flashing effects that a cue starts."""
    cue = cues_of(show, list_number).get(number)
    rates: dict[str, Fraction] = {}
    for part in () if cue is None else (cue, *(cue.parts or {}).values()):
        for place, started in (part.effects or {}).items():
            effect = (show.effects or {}).get(place)
            running = isinstance(started.state, UnsetType) or started.state == "start"
            rate = effect_rate(effect, started) if effect is not None and running else None
            if rate:
                rates[place] = max(rate, rates.get(place, rate))
    return rates


def _chains(sides: Sides, touched: set[Thing]) -> Iterator[Flashing]:
    before, after = (
        _ChainRates(sides.before, sides.before_rig),
        _ChainRates(sides.after, sides.after_rig),
    )
    for cues in sides.pairs.lists():
        for thing in sorted(touched, key=lambda thing: cue_order(thing.id)):
            old = cues.old.get(thing.id)
            if thing.kind != "cue" or thing.list != cues.new_list or old is None:
                continue
            was = before.fastest(CueRef(cues.old_list, old))
            now = after.fastest(CueRef(cues.new_list, thing.id))
            fixtures = tuple(fixture for fixture, rate in now.items() if rate > 1)
            fastest, old_fastest = max(now.values(), default=0), max(was.values(), default=0)
            if fixtures and fastest > old_fastest:
                yield Flashing(
                    thing, "chain", fixtures, "", Fraction(old_fastest), Fraction(fastest)
                )


class _ChainRates:
    """How often fixtures flash in chains of follows of one show."""

    def __init__(self, show: Show, rig: Rig) -> None:
        self._show = show
        self._rig = rig
        self._order = CueOrder(show)
        self._tracked: dict[str, TrackedList] = {}

    def fastest(self, first: CueRef) -> dict[str, int]:
        """Return the most flashes in any second, by fixture; none where nothing follows."""
        cue = self._order.cue(first)
        if cue is None or isinstance(cue.follow, UnsetType):
            return {}
        chain = chain_from(self._order, self._rig, first)
        if len(chain.steps) < 3 and chain.loops_to is None:
            return {}
        looks = {step.ref: self._look(step.ref) for step in chain.steps}
        return chain_rate(chain, {ref: look for ref, look in looks.items() if look is not None})

    def _look(self, ref: CueRef) -> Look | None:
        try:
            if ref.list not in self._tracked:
                self._tracked[ref.list] = track_list(self._show, ref.list)
            return look_of(self._tracked[ref.list], ref.cue)
        except NoSuchLookError:
            return None
