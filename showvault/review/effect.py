"""Which cues look different on stage, how, and because of which edit.

- A cue is compared with itself: one that moved with what it was, one that is only on one side not
  at all; what that one changes in others is told there.
- A parameter that only one show has counts where something is stored for it, or where it is an
  intensity that is lit by itself; a fixture that is new and dark changes no picture.
- Only parameters that can differ are looked at; the rest of a show costs nothing.

Levels are millionths of a percent, or ABSENT. A look says nothing of other playbacks.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from showvault.compare.changes import Comparison
from showvault.look.storing import is_tracking
from showvault.review.causes import Cause, Edited, Reach, ThroughPreset, Tracks, TypeChanged
from showvault.review.comparing import Difference, ParameterWalk
from showvault.review.lanes import Lane, Parameter, stored_by_cue
from showvault.review.pairs import CuePairs, cues_of
from showvault.review.suspects import (
    Sides,
    Suspects,
    find_suspects,
    find_suspects_everywhere,
    sides_of,
)
from showvault.show.addressing import Thing, cue_order, place_order
from showvault.show.model import Show


@dataclass(frozen=True)
class Shift:
    """One parameter that looks different; levels in millionths of a percent, or ABSENT."""

    fixture: str
    attribute: str
    before: int
    after: int


@dataclass(frozen=True)
class Because:
    """One cause of what differs in a cue, how far it goes, and what it explains there."""

    cause: Cause
    reach: Reach | None
    """None for what does not track: a preset, a type."""
    parameters: tuple[Parameter, ...]


@dataclass(frozen=True)
class CueEffect:
    """A cue whose picture differs, named as in the new show."""

    cue: Thing
    shifts: tuple[Shift, ...]
    because: tuple[Because, ...]


def on_stage(before: Show, after: Show, comparison: Comparison) -> list[CueEffect]:
    """Return every cue whose picture differs, in the order of the lists, with its causes."""
    return effects_of(sides_of(before, after, comparison))


def effects_of(sides: Sides) -> list[CueEffect]:
    """Return every cue whose picture differs between two sides."""
    everywhere = find_suspects_everywhere(sides)
    found: list[CueEffect] = []
    for cues in sorted(sides.pairs.lists(), key=lambda cues: place_order(cues.new_list)):
        found += _effects_in_list(sides, cues, find_suspects(sides, cues, everywhere))
    return found


def _effects_in_list(sides: Sides, cues: CuePairs, suspects: Suspects) -> list[CueEffect]:
    if not suspects:
        return []
    compared = sorted(cues.old, key=cue_order)
    by_cue: dict[str, list[Difference]] = defaultdict(list)
    reaches: dict[tuple[Parameter, Cause, str], Reach] = {}
    order = sorted(cues_of(sides.after, cues.new_list), key=cue_order)
    for walk in _walks(sides, cues, suspects):
        differences = list(walk.differences(compared))
        reaches |= _reaches(differences, compared, order)
        for difference in differences:
            by_cue[difference.cue].append(difference)
    return [
        _effect(Thing("cue", cue, cues.new_list), by_cue[cue], reaches)
        for cue in compared
        if cue in by_cue
    ]


def _walks(sides: Sides, cues: CuePairs, suspects: Suspects) -> Sequence[ParameterWalk]:
    old_keys = {key: sides.pairs.old_key(key) for key in suspects}
    of_old = {old: suspects[key] for key, old in old_keys.items() if old is not None}
    stored_before = stored_by_cue(sides.before, cues.old_list, of_old)
    stored_after = stored_by_cue(sides.after, cues.new_list, suspects)
    lists = (
        (sides.before.cue_lists or {})[cues.old_list],
        (sides.after.cue_lists or {})[cues.new_list],
    )
    tracks = is_tracking(lists[0]), is_tracking(lists[1])
    numbers = cues_of(sides.before, cues.old_list), cues_of(sides.after, cues.new_list)
    walks = []
    for key in sorted(suspects, key=place_order):
        for name in sorted(suspects[key]):
            old = old_keys[key]
            one = Lane(
                sides.before,
                sides.before_rig,
                old,
                name,
                stored_before.get((old, name), {}) if old is not None else {},
                numbers[0],
                tracks[0],
            )
            other = Lane(
                sides.after,
                sides.after_rig,
                key,
                name,
                stored_after.get((key, name), {}),
                numbers[1],
                tracks[1],
            )
            if one.exists != other.exists:
                one = replace(one, hides=not one.exists, alone=one.exists)
                other = replace(other, hides=not other.exists, alone=other.exists)
            walks.append(ParameterWalk(sides.pairs, cues, one, other))
    return walks


def _reaches(
    differences: Sequence[Difference], compared: Sequence[str], order: Sequence[str]
) -> dict[tuple[Parameter, Cause, str], Reach]:
    """Return how far each cause of one parameter goes, for each cue that it reaches."""
    place = {cue: number for number, cue in enumerate(compared)}
    runs: dict[Cause, list[list[Difference]]] = defaultdict(list)
    for difference in differences:
        for cause in difference.causes:
            of_cause = runs[cause]
            if of_cause and place[of_cause[-1][-1].cue] == place[difference.cue] - 1:
                of_cause[-1].append(difference)
            else:
                of_cause.append([difference])
    after = dict(zip(order, [*order[1:], None], strict=True)) if order else {}
    found: dict[tuple[Parameter, Cause, str], Reach] = {}
    for cause, of_cause in runs.items():
        for run in of_cause:
            reach = Reach(run[0].cue, run[-1].cue, after[run[-1].cue])
            for difference in run:
                found[(difference.key, difference.attribute), cause, difference.cue] = reach
    return found


def _effect(
    cue: Thing,
    differences: Sequence[Difference],
    reaches: Mapping[tuple[Parameter, Cause, str], Reach],
) -> CueEffect:
    because: dict[tuple[Cause, Reach | None], list[Parameter]] = defaultdict(list)
    for difference in differences:
        parameter = (difference.key, difference.attribute)
        for cause in difference.causes:
            because[_as_seen_from(cue, cause), _reach(reaches, parameter, cause, cue.id)].append(
                parameter
            )
    return CueEffect(
        cue,
        tuple(Shift(d.key, d.attribute, d.before, d.after) for d in differences),
        tuple(Because(*named, tuple(parameters)) for named, parameters in because.items()),
    )


def _as_seen_from(cue: Thing, cause: Cause) -> Cause:
    """An edit of another cue tracks into this one."""
    match cause:
        case Edited(source) if source.kind == "cue" and source != cue:
            return Tracks(source)
        case _:
            return cause


def _reach(
    reaches: Mapping[tuple[Parameter, Cause, str], Reach],
    parameter: Parameter,
    cause: Cause,
    cue: str,
) -> Reach | None:
    match cause:
        case ThroughPreset() | TypeChanged():
            return None
        case _:
            return reaches[parameter, cause, cue]
