"""Where a merged show looks on stage as neither side left it: two innocent edits that met.

A cue counts where its look differs from that of both sides; a side that does not have the cue does
not speak for it. What met most closely are levels that stand on neither side: an edited preset in a
cue that the other put to use, a cue taken out under a level that the other tracked through.

A look says nothing of other playbacks. Levels are millionths of a percent, or ABSENT.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from showvault.compare.changes import Comparison
from showvault.look.levels import ABSENT
from showvault.review.effect import CueEffect, Shift, effects_of
from showvault.review.suspects import Sides, sides_of
from showvault.show.addressing import Thing, thing_order
from showvault.show.model import Show


@dataclass(frozen=True)
class MetLevel:
    """A parameter that stands at a level which neither side has in this cue."""

    fixture: str
    attribute: str
    mine: int | None
    """None where that side does not have the cue."""
    theirs: int | None
    merged: int


@dataclass(frozen=True)
class MetCue:
    """A cue that looks as neither side left it; ``levels`` may be empty."""

    cue: Thing
    levels: tuple[MetLevel, ...]


@dataclass(frozen=True)
class Side:
    """One side of a merge beside the merged show."""

    sides: Sides
    """That side, and the merged show after it."""
    effects: Sequence[CueEffect]
    """What looks different in the merged show."""


def side_of(show: Show, merged: Show, comparison: Comparison) -> Side:
    """Return one side of a merge made ready; ``comparison`` leads from it to the merged show."""
    sides = sides_of(show, merged, comparison)
    return Side(sides, effects_of(sides))


def find_met(mine: Side, theirs: Side) -> list[MetCue]:
    """Return the cues of the merged show that look as neither side left them, in order."""
    ours, others = _shifts(mine), _shifts(theirs)
    found = []
    for cue in sorted(ours.keys() | others.keys(), key=thing_order):
        one, other = ours.get(cue, {}), others.get(cue, {})
        if one == {} or other == {}:
            continue
        found.append(MetCue(cue, tuple(_levels(one, other))))
    return found


_Shifts = dict[tuple[str, str], Shift] | None


def _shifts(side: Side) -> dict[Thing, _Shifts]:
    """Return what differs in each cue of the merged show; None where the side lacks the cue."""
    shifts: dict[Thing, _Shifts] = {
        effect.cue: {(shift.fixture, shift.attribute): shift for shift in effect.shifts}
        for effect in side.effects
    }
    paired = {
        Thing("cue", cue, cues.new_list) for cues in side.sides.pairs.lists() for cue in cues.old
    }
    for number, cue_list in (side.sides.after.cue_lists or {}).items():
        for cue in cue_list.cues or {}:
            if Thing("cue", cue, number) not in paired:
                shifts[Thing("cue", cue, number)] = None
    return shifts


def _levels(one: _Shifts, other: _Shifts) -> list[MetLevel]:
    if one is None and other is None:
        return []
    names = (one or other or {}).keys() & (other or one or {}).keys()
    found = []
    for fixture, attribute in sorted(names):
        shifts = [of_side and of_side[fixture, attribute] for of_side in (one, other)]
        levels = [shift.before if shift else None for shift in shifts]
        after = next(shift.after for shift in shifts if shift)
        if after != ABSENT:
            found.append(MetLevel(fixture, attribute, levels[0], levels[1], after))
    return found
