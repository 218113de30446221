"""Which of three kinds an edit is: it looks different, it plays differently, or neither.

- *Looks*: some cue's picture differs because of it, or the patch sends it out otherwise.
- *Plays*: times, delays, follows, links, triggers, effects, dark moves; a cue more or less to go.
- *Neither*: labels, notes, unused presets, values that are stored again as they already were.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Literal

from showvault.compare.changes import Added, Change, Changed, Copied, Moved, Removed
from showvault.look.tracking import TrackedList, row_at, track_list
from showvault.review.causes import CueMoved
from showvault.review.effect import CueEffect
from showvault.review.lanes import Parameter
from showvault.review.pairs import cues_of
from showvault.review.plays import changes_play
from showvault.review.suspects import Sides
from showvault.show.addressing import Thing, cue_order
from showvault.show.model import Show

EffectKind = Literal["looks", "plays", "neither"]

_SENT_OTHERWISE = {
    "curve": frozenset(["points"]),
    "fixture": frozenset(["invert", "swap_pan_tilt"]),
}
"""Fields that no look knows and that change what leaves the desk for the same level."""


class EffectKinds:
    """Tells of each change of a comparison which kind it is."""

    def __init__(self, sides: Sides, effects: Iterable[CueEffect]) -> None:
        self._sides = sides
        self._tracked: dict[tuple[int, str], TrackedList] = {}
        self._explains: Mapping[Thing, set[Parameter]] = _explained(effects)

    def kind_of(self, change: Change) -> EffectKind:
        """Return which kind a change is."""
        if self._looks(change):
            return "looks"
        return "plays" if self._plays(change) else "neither"

    def _looks(self, change: Change) -> bool:
        explained = self._explains.get(change.thing)
        match change:
            case Changed():
                if change.inside and change.inside[0] in _SENT_OTHERWISE.get(change.thing.kind, ()):
                    return True
                return explained is not None and self._is_about(change, explained)
            case Added(thing) | Copied(thing):
                return explained is not None or self._puts_on_stage(self._sides.after, thing)
            case Removed(thing):
                return explained is not None or self._puts_on_stage(self._sides.before, thing)
            case Moved(_, from_):
                return explained is not None or from_ in self._explains

    def _puts_on_stage(self, show: Show, thing: Thing) -> bool:
        """Tell whether a cue that only one show has looks other than the look before it."""
        if thing.kind != "cue":
            return False
        key = (id(show), thing.list)
        if key not in self._tracked:
            self._tracked[key] = track_list(show, thing.list)
        tracked = self._tracked[key]
        row = tracked.cues.index(thing.id)
        before = row_at(tracked, row - 1) if row else tracked.columns.defaults
        return bool((row_at(tracked, row) != before).any())

    def _is_about(self, change: Changed, explained: set[Parameter]) -> bool:
        """Tell whether the field of a change is one that explains a difference."""
        match (change.thing.kind, change.inside):
            case ("cue", ("levels", fixture, attribute)):
                return (fixture, attribute) in explained
            case ("cue", ("parts", _)):
                levels = {**_levels_in(change.before), **_levels_in(change.after)}
                return any(parameter in explained for parameter in levels)
            case ("preset", ("levels", fixture, attribute)):
                return (fixture, attribute) in explained
            case ("preset", ("types", type_name, attribute)):
                rig = self._sides.after_rig
                return any(
                    name == attribute and rig.type_of(key) == type_name for key, name in explained
                )
            case ("preset", ("all", attribute)):
                return any(name == attribute for _, name in explained)
            case ("cue_list", ("tracking",)) | ("fixture", ("type" | "mode",)):
                return True
            case ("fixture_type", (field, *_)):
                return field == "modes"
            case _:
                return False

    def _plays(self, change: Change) -> bool:
        match change:
            case Changed():
                return changes_play(change)
            case Added(thing) | Copied(thing) | Removed(thing):
                if thing.kind == "effect":
                    return self._is_started(thing.id)
                return thing.kind in ("cue", "cue_list", "playback", "submaster", "macro")
            case Moved(thing, from_):
                return thing.kind == "cue" and self._changes_order(thing, from_)

    def _is_started(self, effect: str) -> bool:
        return any(
            effect in (part.effects or {})
            for show in (self._sides.before, self._sides.after)
            for number in show.cue_lists or {}
            for cue in cues_of(show, number).values()
            for part in (cue, *(cue.parts or {}).values())
        )

    def _changes_order(self, thing: Thing, from_: Thing) -> bool:
        """Tell whether a cue that moved is passed by another cue of its list."""
        for cues in self._sides.pairs.lists():
            if cues.new_list == thing.list and cues.old.get(thing.id) == from_.id:
                new, old = cue_order(thing.id), cue_order(from_.id)
                return any(
                    (cue_order(other) < new) != (cue_order(was) < old)
                    for other, was in cues.old.items()
                    if other != thing.id
                )
        return True


def _explained(effects: Iterable[CueEffect]) -> dict[Thing, set[Parameter]]:
    """Return what each edited thing explains."""
    found: dict[Thing, set[Parameter]] = defaultdict(set)
    for effect in effects:
        for because in effect.because:
            found[because.cause.source].update(because.parameters)
            if isinstance(because.cause, CueMoved):
                found[because.cause.from_].update(because.parameters)
    return dict(found)


def _levels_in(part: object) -> dict[Parameter, object]:
    levels = part.get("levels") if isinstance(part, dict) else None
    if not isinstance(levels, dict):
        return {}
    return {
        (fixture, attribute): value
        for fixture, values in levels.items()
        if isinstance(values, dict)
        for attribute, value in values.items()
    }
