"""Where one parameter of a list differs between two shows, and because of what.

Both sides are walked along their cue numbers together. A cause is found by undoing: starting at the
cue that sets the new level and going back, each edit is taken back in the new show until the old
level is there; what is left then lies in a preset, a type or a default.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from showvault.look.fixtures import mode_of
from showvault.look.levels import ABSENT
from showvault.look.presets import held_level, preset_named
from showvault.review.causes import (
    Cause,
    CueAdded,
    CueMoved,
    CueRemoved,
    Edited,
    ThroughPreset,
    TypeChanged,
)
from showvault.review.lanes import Lane, Reference, StoredInCue
from showvault.review.pairs import CuePairs, Pairs
from showvault.show.addressing import Thing, cue_order
from showvault.show.model import Preset


@dataclass(frozen=True)
class Difference:
    """A parameter that differs in one cue; levels in millionths of a percent, or ABSENT."""

    cue: str
    """As the new show calls it."""
    key: str
    attribute: str
    before: int
    after: int
    causes: tuple[Cause, ...]


class ParameterWalk:
    """One parameter of one list in both shows."""

    def __init__(self, pairs: Pairs, cues: CuePairs, before: Lane, after: Lane) -> None:
        self.pairs = pairs
        self.cues = cues
        self.before = before
        self.after = after
        zeroed = {number for lane in (before, after) if lane.zeroes for number in lane.cues}
        numbers = sorted({*before.stored, *after.stored, *zeroed}, key=cue_order)
        self.numbers = numbers
        self._orders = [cue_order(number) for number in numbers]
        self.levels_before = list(_levels(before, numbers))
        self.levels_after = list(_levels(after, numbers))

    def differences(self, compared: Sequence[str]) -> Iterator[Difference]:
        """Yield the cues of ``compared`` (new numbers, in order) in which the parameter differs."""
        orders = [cue_order(number) for number in compared]
        bounds = [bisect_left(orders, order) for order in self._orders]
        starts, ends = [0, *bounds], [*bounds, len(compared)]
        for place, (start, end) in enumerate(zip(starts, ends, strict=True), -1):
            one, other = self._seen(place)
            causes: tuple[Cause, ...] | None = None
            for cue in compared[start:end]:
                if self.cues.old[cue] != cue:
                    difference = self._of_moved_cue(cue)
                    if difference is not None:
                        yield difference
                elif one != other:
                    causes = causes if causes is not None else self._causes(place)
                    yield self._difference(cue, one, other, causes)

    def _seen(self, place: int) -> tuple[int, int]:
        return self._before_at(place), self._after_at(place)

    def _before_at(self, place: int) -> int:
        level = self.levels_before[place] if place >= 0 else self.before.default()
        return self.before.seen(level)

    def _after_at(self, place: int) -> int:
        level = self.levels_after[place] if place >= 0 else self.after.default()
        return self.after.seen(level)

    def _place(self, number: str) -> int:
        """Return the last place where something is set at or before a cue number; −1 for none."""
        return bisect_right(self._orders, cue_order(number)) - 1

    def _difference(
        self, cue: str, before: int, after: int, causes: tuple[Cause, ...]
    ) -> Difference:
        key = self.after.key if self.after.key is not None else self.before.key
        return Difference(cue, key or "", self.after.attribute, before, after, causes)

    def _of_moved_cue(self, cue: str) -> Difference | None:
        old = self.cues.old[cue]
        one, other = self._before_at(self._place(old)), self._after_at(self._place(cue))
        if one == other:
            return None
        stored = self.before.stored.get(old, ()), self.after.stored.get(cue, ())
        causes, level = self._own_causes(Thing("cue", cue, self.cues.new_list), *stored)
        if level is None:
            causes.append(self._move(old, cue))
            if self.before.zeroes != self.after.zeroes:
                causes.append(Edited(Thing("cue_list", self.cues.new_list)))
            place = self._place(old)
            if self._after_at(place) != one:
                causes += self._causes(place)
        return self._difference(cue, one, other, tuple(dict.fromkeys(causes)))

    def _own_causes(
        self, cue: Thing, before: StoredInCue, after: StoredInCue
    ) -> tuple[list[Cause], int | None]:
        """Return the causes inside one cue, and what the old cue set by itself."""
        undone = self._undone(before, after)
        through = list(self._through(before, undone))
        level = self.after.level(undone)
        edited = level != self.after.level(after) or (through and undone != after)
        return [*([Edited(cue)] if edited else []), *through], self.before.level(before)

    def _causes(self, place: int) -> tuple[Cause, ...]:
        """Return the edits which, undone from the last one back, give the level before."""
        wanted = self._before_at(place)
        another_tracking = self.before.zeroes != self.after.zeroes
        causes: list[Cause] = []
        for at in range(place, -1, -1):
            number = self.numbers[at]
            before = self.before.stored.get(number, ())
            after = self.after.stored.get(number, ())
            undone = self._undone(before, after)
            through = list(self._through(before, undone))
            if self._is_edited(number, undone, after) or (through and undone != after):
                causes += self._who(number, before, after)
            causes += through
            old_level = self.before.level(before)
            if old_level is None and number in self.before.cues:
                if another_tracking:
                    causes.append(Edited(Thing("cue_list", self.cues.new_list)))
                if self.before.zeroes and self.before.default() != ABSENT:
                    old_level = 0
            if old_level is not None:
                break  # it was set here: with all of this undone, it is again
            moved = any(isinstance(cause, CueMoved) for cause in causes)  # it goes back before here
            if self._after_at(at - 1) == wanted and not another_tracking and not moved:
                break
        else:
            if self.before.default() != self.after.default():
                causes += self._type_causes()
        if self.before.hides or self.after.hides:  # it is there on one side alone
            causes += self._type_causes()
        return tuple(dict.fromkeys(causes or self._type_causes()))

    def _is_edited(self, number: str, undone: StoredInCue, after: StoredInCue) -> bool:
        """Tell whether an edit at a number changes what the new list sets there."""
        if self.after.level(undone) != self.after.level(after):
            return True
        unstored = self.after.level(after) is None
        came_or_went = (number in self.before.cues) != (number in self.after.cues)
        return unstored and came_or_went and (self.after.zeroes or self.before.zeroes)

    def _undone(self, before: StoredInCue, after: StoredInCue) -> StoredInCue:
        """Return what a cue of the new show would store had nobody edited it.

        References may have followed their preset, or still name its old place: neither is an edit.
        """
        return after if before == after else self._renamed(before)

    def _is_same_cue(self, number: str) -> bool:
        return self.cues.old.get(number) == number

    def _renamed(self, stored: StoredInCue) -> StoredInCue:
        return tuple(
            Reference(self.pairs.new_name(Thing("preset", value.preset)).id)
            if isinstance(value, Reference)
            else value
            for value in stored
        )

    def _who(self, number: str, before: StoredInCue, after: StoredInCue) -> Iterator[Cause]:
        """Yield who set, or no longer sets, the parameter at a number."""
        if self._is_same_cue(number):
            yield Edited(Thing("cue", number, self.cues.new_list))
            return
        if number in self.before.cues and (before or self.before.zeroes):
            new = self.cues.new.get(number)
            if new is None:
                yield CueRemoved(Thing("cue", number, self.cues.old_list))
            else:
                yield from self._moved_and_edited(number, new)
        if number in self.after.cues and (after or self.after.zeroes):
            old = self.cues.old.get(number)
            if old is None:
                yield CueAdded(Thing("cue", number, self.cues.new_list))
            else:
                yield from self._moved_and_edited(old, number)

    def _moved_and_edited(self, old: str, new: str) -> Iterator[Cause]:
        before, after = self.before.stored.get(old, ()), self.after.stored.get(new, ())
        undone = self._undone(before, after)
        if self.after.level(undone) != self.after.level(after):
            yield Edited(Thing("cue", new, self.cues.new_list))
        yield from self._through(before, undone)
        if self.before.level(before) is not None or self.before.zeroes:
            yield self._move(old, new)

    def _move(self, old: str, new: str) -> Cause:
        new_thing = Thing("cue", new, self.cues.new_list)
        return CueMoved(new_thing, Thing("cue", old, self.cues.old_list))

    def _through(self, before: StoredInCue, undone: StoredInCue) -> Iterator[Cause]:
        """Yield why values that nobody edited set another level: a preset, a fixture, a type."""
        for one, other in zip(before, undone, strict=True):
            level, new_level = self.before.level((one,)), self.after.level((other,))
            if level != new_level:
                if isinstance(one, Reference) and isinstance(other, Reference):
                    yield from self._through_reference(one, other)
                else:
                    yield from self._type_causes()
            if level is not None and new_level is not None:
                break  # the parts below do not show

    def _through_reference(self, one: Reference, other: Reference) -> Iterator[Cause]:
        """Yield the preset, the fixture's type, or both: what undone gives the old level."""
        old, new = (
            preset_named(self.before.show, one.preset),
            preset_named(self.after.show, other.preset),
        )

        def held(preset: Preset | None, lane: Lane) -> int | None:
            key = self.after.key or self.before.key or ""
            own = self.before.key or "" if preset is old else key
            return held_level(preset, own, lane.rig.type_of(lane.key or ""), self.after.attribute)

        was, retyped = held(old, self.before), held(old, self.after)
        refilled, now = held(new, self.before), held(new, self.after)
        if retyped != now or (was != retyped and refilled != was):
            yield ThroughPreset(Thing("preset", other.preset))
        if was != retyped or self.before.hides or self.after.hides:
            yield from self._type_causes()

    def _type_causes(self) -> Iterator[Cause]:
        """Yield the fixture where it is another one, and its old type where that changed."""
        number = (self.after.key or self.before.key or "").partition(".")[0]
        old_number = (self.before.key or "").partition(".")[0]
        one = (self.before.show.patch or {}).get(old_number)
        other = (self.after.show.patch or {}).get(number)
        if one is None or other is None or (one.type, one.mode) != (other.type, other.mode):
            yield TypeChanged(Thing("fixture", number))
        if one is not None:
            kind = (one.type, one.mode)
            if mode_of(self.before.show, *kind) != mode_of(self.after.show, *kind):
                yield TypeChanged(Thing("fixture_type", one.type))


def _levels(lane: Lane, numbers: Sequence[str]) -> Iterator[int]:
    """Yield the level after each number, tracked along the lane's own cues."""
    level = lane.default()
    for number in numbers:
        stored = lane.level(lane.stored[number]) if number in lane.stored else None
        if stored is not None:
            level = stored
        elif lane.zeroes and number in lane.cues and level != ABSENT:
            level = 0
        yield level
