"""What the designer is told at once: moves that became live, light lost or left on, what is seen.

Only the fixtures and lists whose looks or times differ are looked at, cue by cue on both sides.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from showvault.compare.changes import Changed, Comparison
from showvault.look.moves import LitTable, Move, find_moves
from showvault.look.storing import parts_in_order
from showvault.look.tracking import table_of, track_fixtures
from showvault.review.effect import CueEffect
from showvault.review.pairs import CuePairs, cues_of
from showvault.review.plays import changes_play
from showvault.review.suspects import Sides
from showvault.show.addressing import Thing
from showvault.show.model import Cue


@dataclass(frozen=True)
class LiveMove:
    """A fixture that now changes position, colour or gobo where somebody can see it."""

    cue: Thing
    fixture: str
    attributes: tuple[str, ...]
    before: Literal["dark", "none"]
    """What it did there before: move in the dark, or not move."""


@dataclass(frozen=True)
class Sight:
    """What can be seen of a cue whose picture differs."""

    cue: Thing
    fixtures: tuple[str, ...]
    """Those that look different and are lit before or after."""
    lost: tuple[str, ...]
    """Those that the cue leaves dark and did not."""
    lit: tuple[str, ...]
    """Those that the cue leaves lit and did not."""


def find_live_moves(
    sides: Sides, comparison: Comparison, effects: Iterable[CueEffect]
) -> list[LiveMove]:
    """Return the moves that are live and were dark, or were not there."""
    found: list[LiveMove] = []
    effects = list(effects)
    for cues in sides.pairs.lists():
        fixtures = _fixtures_of(cues, effects) | _fixtures_in_cues(sides, cues, comparison)
        if fixtures:
            found += _live_moves(sides, cues, fixtures)
    return found


def find_sights(sides: Sides, effects: Iterable[CueEffect]) -> list[Sight]:
    """Return what can be seen of each cue whose picture differs, in the same order."""
    effects = list(effects)
    sights = {
        sight.cue: sight for cues in sides.pairs.lists() for sight in _sights(sides, cues, effects)
    }
    return [sights[effect.cue] for effect in effects]


def _sights(sides: Sides, cues: CuePairs, effects: Sequence[CueEffect]) -> Iterator[Sight]:
    fixtures = _fixtures_of(cues, effects)
    if not fixtures:
        return
    old = {number for key in fixtures if (number := sides.pairs.old_key(key)) is not None}
    before = table_of(track_fixtures(sides.before, cues.old_list, old))
    after = table_of(track_fixtures(sides.after, cues.new_list, fixtures))
    was_lit = LitTable(sides.before_rig.only(old), before)
    is_lit = LitTable(sides.after_rig.only(fixtures), after)
    old_rows = {cue: row for row, cue in enumerate(before.cues)}
    new_rows = {cue: row for row, cue in enumerate(after.cues)}
    for effect in effects:
        if effect.cue.list != cues.new_list:
            continue
        row, old_row = new_rows[effect.cue.id], old_rows[cues.old[effect.cue.id]]
        seen: dict[str, tuple[bool, bool]] = {}
        for fixture in dict.fromkeys(shift.fixture.partition(".")[0] for shift in effect.shifts):
            was = was_lit.lit(sides.pairs.old_key(fixture) or "", old_row)
            seen[fixture] = (was, is_lit.lit(fixture, row))
        yield Sight(
            effect.cue,
            tuple(fixture for fixture, lit in seen.items() if any(lit)),
            tuple(fixture for fixture, lit in seen.items() if lit == (True, False)),
            tuple(fixture for fixture, lit in seen.items() if lit == (False, True)),
        )


def _live_moves(sides: Sides, cues: CuePairs, fixtures: Collection[str]) -> Iterator[LiveMove]:
    old = {number for key in fixtures if (number := sides.pairs.old_key(key)) is not None}
    before: Mapping[tuple[str, str], Move] = {
        (cues.new.get(move.cue, ""), sides.pairs.new_key(move.fixture)): move
        for move in find_moves(sides.before, cues.old_list, old)
    }
    for move in find_moves(sides.after, cues.new_list, fixtures):
        was = before.get((move.cue, move.fixture))
        if move.seen == "live" and move.cue in cues.old and (was is None or was.seen == "dark"):
            yield LiveMove(
                Thing("cue", move.cue, cues.new_list),
                move.fixture,
                move.attributes,
                "none" if was is None else "dark",
            )


def _fixtures_of(cues: CuePairs, effects: Iterable[CueEffect]) -> set[str]:
    return {
        shift.fixture.partition(".")[0]
        for effect in effects
        if effect.cue.list == cues.new_list
        for shift in effect.shifts
    }


def _fixtures_in_cues(sides: Sides, cues: CuePairs, comparison: Comparison) -> set[str]:
    """Return the fixtures of cues that were edited, moved, added or removed.

    A move may have become live though no picture differs: the cue that made it in the dark is gone.
    """
    found: set[str] = set()
    for change in comparison.changes:
        if change.thing == Thing("cue_list", cues.new_list) and isinstance(change, Changed):
            found.update(sides.after_rig.types)  # dark moves, or another kind of tracking
        if change.thing.kind != "cue" or change.thing.list not in (cues.old_list, cues.new_list):
            continue
        if isinstance(change, Changed) and change.level is not None:
            found.add(sides.pairs.new_key(change.level[0].partition(".")[0]))
        elif not isinstance(change, Changed) or changes_play(change):
            old = cues.old.get(change.thing.id, change.thing.id)
            found.update(
                map(sides.pairs.new_key, _stored_in(cues_of(sides.before, cues.old_list).get(old)))
            )
            found |= _stored_in(cues_of(sides.after, cues.new_list).get(change.thing.id))
    return found


def _stored_in(cue: Cue | None) -> set[str]:
    parts = [] if cue is None else [part for _, part in parts_in_order(cue)]
    return {key.partition(".")[0] for part in parts for key in part.levels or {}}
