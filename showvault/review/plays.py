"""What plays differently: times, delays, follows, links, triggers, effects, dark moves.

One row for each such edit, in the cue that it is in, with the length of the chain of follows that
the cue starts; an effect that was edited has a row in each cue that starts it. What only changes a
look is no row here. Times are in milliseconds.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from msgspec import UNSET

from showvault.compare.changes import Change, Changed, Comparison
from showvault.look.chains import CueOrder, CueRef, chain_from
from showvault.review.pairs import cues_of
from showvault.review.suspects import Sides
from showvault.show.addressing import Thing, cue_order, place_order
from showvault.show.trees import Tree

_TIMES = frozenset(["fade_in", "fade_out", "delay_in", "delay_out", "times", "follow", "link"])
CUE_FIELDS = _TIMES | {"trigger", "also_go", "effects"}
"""The fields of a cue or of a part that say how it plays."""

PLAYED_FIELDS = {
    "effect": frozenset(["wave", "cycle_seconds", "spread", "attributes", "fixtures"]),
    "cue_list": frozenset(["dark_moves"]),
    "playback": frozenset(["cue_list", "intensity", "priority"]),
    "submaster": frozenset(["mode", "levels"]),
    "macro": frozenset(["steps"]),
}
"""The fields of other things that say how they play."""


@dataclass(frozen=True)
class ChainLengths:
    """How long a cue and what follows it by itself takes, in milliseconds."""

    before: int
    after: int
    follows: bool
    """Whether anything follows by itself, on either side."""


@dataclass(frozen=True)
class Play:
    """One thing that plays differently."""

    thing: Thing
    """A cue, or a list, playback, submaster, macro."""
    part: str
    field: str
    """As in the format: "fade_in", "times.Position.fade", "cycle_seconds"."""
    level: tuple[str, str] | None
    """Fixture and attribute, where a stored value has the time."""
    before: Tree
    after: Tree
    source: Thing
    """What was edited: the cue itself, or an effect that it starts."""
    chain: ChainLengths | None = None


def find_plays(sides: Sides, comparison: Comparison) -> list[Play]:
    """Return everything that plays differently, in the order of the comparison."""
    chains = _Chains(sides)
    return [play for change in comparison.changes for play in _plays(sides, chains, change)]


def changes_play(change: Changed) -> bool:
    """Tell whether an edited field says how a thing plays."""
    if change.level is not None and change.thing.kind == "cue":
        return _times_of(change.before) != _times_of(change.after)
    head = change.inside[0] if change.inside else ""
    if change.thing.kind == "cue":
        return head in CUE_FIELDS or (head == "parts" and _part_plays(change))
    return head in PLAYED_FIELDS.get(change.thing.kind, ())


def _plays(sides: Sides, chains: "_Chains", change: Change) -> Iterator[Play]:
    if not isinstance(change, Changed) or not changes_play(change):
        return
    if change.thing.kind == "effect":
        for cue in _cues_that_start(sides, change.thing.id):
            yield _row(cue, change, change.before, change.after)
    elif change.level is not None and change.thing.kind == "cue":
        for field in ("fade", "delay"):
            one, other = _time_of(change.before, field), _time_of(change.after, field)
            if one != other:
                chain = chains.lengths(change.thing)
                yield Play(
                    change.thing, change.part, field, change.level, one, other, change.thing, chain
                )
    else:
        chaining = change.thing.kind == "cue" and change.inside[0] in _TIMES
        chain = chains.lengths(change.thing) if chaining else None
        yield _row(change.thing, change, change.before, change.after, chain)


def _row(
    thing: Thing,
    change: Changed,
    before: Tree,
    after: Tree,
    chain: ChainLengths | None = None,
) -> Play:
    level = change.level if change.thing.kind == "submaster" else None
    return Play(thing, change.part, change.field, level, before, after, change.thing, chain)


def _cues_that_start(sides: Sides, effect: str) -> Iterator[Thing]:
    for number in sorted(sides.after.cue_lists or {}, key=place_order):
        cues = cues_of(sides.after, number)
        for cue in sorted(cues, key=cue_order):
            parts = (cues[cue], *(cues[cue].parts or {}).values())
            started = [(part.effects or {}).get(effect) for part in parts]
            if any(one is not None and one.state in ("start", UNSET) for one in started):
                yield Thing("cue", cue, number)


class _Chains:
    """The lengths of chains on both sides, each computed when it is asked for."""

    def __init__(self, sides: Sides) -> None:
        self._sides = sides
        self._before = CueOrder(sides.before)
        self._after = CueOrder(sides.after)
        self._old = {
            Thing("cue", new, cues.new_list): CueRef(cues.old_list, old)
            for cues in sides.pairs.lists()
            for new, old in cues.old.items()
        }

    def lengths(self, cue: Thing) -> ChainLengths | None:
        """Return the lengths of the chain a cue starts; None for a cue on one side only."""
        old = self._old.get(cue)
        if old is None:
            return None
        one = chain_from(self._before, self._sides.before_rig, old)
        other = chain_from(self._after, self._sides.after_rig, CueRef(cue.list, cue.id))
        follows = max(len(one.steps), len(other.steps)) > 1
        return ChainLengths(one.length, other.length, follows)


def _part_plays(change: Changed) -> bool:
    """Tell whether a part that came or went has anything but a label in it."""
    sides = (change.before, change.after)
    return any(isinstance(side, dict) and CUE_FIELDS & side.keys() for side in sides)


def _times_of(value: Tree) -> tuple[Tree, Tree]:
    return _time_of(value, "fade"), _time_of(value, "delay")


def _time_of(value: Tree, field: str) -> Tree:
    return value.get(field, UNSET) if isinstance(value, dict) else UNSET
