"""How long the values of a cue take.

- A time is the value's own, else its class's in the part, the part's, its class's in the cue, the
  cue's; none is 0. At each of these places an absent fade or delay out is the one in.
- Out is for falling intensities; in is for rising ones and for all other attributes.
- Snap attributes jump after their delay.
- A cue is as long as the longest delay + fade of all its parts and of the values in them.

Common practice, no source. All times are in milliseconds.
"""

from collections.abc import Iterator
from typing import Literal, NamedTuple

from msgspec import UnsetType

from showvault.look.fixtures import Rig, is_intensity
from showvault.look.levels import milliseconds
from showvault.look.storing import Stored, parts_in_order
from showvault.show.attributes import feature_group
from showvault.show.model import Cue, Part, Seconds, StoredValue, Value

Direction = Literal["in", "out"]
"""Out is down, and for intensities alone."""

DIRECTIONS: tuple[Direction, ...] = ("in", "out")


class Times(NamedTuple):
    """When a value begins to move after the go, and how long it moves; milliseconds."""

    delay: int
    fade: int

    @property
    def end(self) -> int:
        """When it has arrived, counted from the go."""
        return self.delay + self.fade


def direction_of(attribute: str, before: int | None, after: int | None) -> Direction:
    """Return whether a change of level uses the times for out; judged against the look before."""
    falls = is_intensity(attribute) and (after or 0) < (before or 0)
    return "out" if falls else "in"


def times_of(
    rig: Rig, cue: Cue, stored: Stored, fixture: str, attribute: str, direction: Direction
) -> Times:
    """Return when a stored value of a cue begins to move and how long it takes."""
    value = stored.value
    own = value if isinstance(value, StoredValue) else StoredValue()
    group = feature_group(attribute)
    delay = _first(own.delay, *_delays(cue, stored.holder, group, direction))
    fade = _first(own.fade, *_fades(cue, stored.holder, group, direction))
    return Times(delay, 0 if rig.snaps(fixture, attribute) else fade)


def cue_length(rig: Rig, cue: Cue) -> int:
    """Return how long a cue takes until everything in it has arrived.

    A value without times of its own counts for up and down alike: the look before is not asked.
    """
    longest = 0
    for _, part in parts_in_order(cue):
        for direction in DIRECTIONS:
            longest = max(longest, _part_end(cue, part, direction))
        longest = max(longest, *_ends_of_values(rig, cue, part), 0)
    return longest


def _part_end(cue: Cue, part: Part, direction: Direction) -> int:
    holders = (part,) if part is cue else (part, cue)
    delay = _first(*(_delay_of(holder, direction) for holder in holders))
    fade = _first(*(_fade_of(holder, direction) for holder in holders))
    return delay + fade


def _ends_of_values(rig: Rig, cue: Cue, part: Part) -> Iterator[int]:
    """Yield when the values arrive that have times of their own or of their class."""
    timed = {*(part.times or {}), *(cue.times or {})}
    for fixture, values in (part.levels or {}).items():
        for attribute, value in values.items():
            if _has_times(value) or (timed and feature_group(attribute) in timed):
                stored = Stored("", part, value)
                both = DIRECTIONS if is_intensity(attribute) else DIRECTIONS[:1]
                for direction in both:
                    yield times_of(rig, cue, stored, fixture, attribute, direction).end


def _has_times(value: Value) -> bool:
    return isinstance(value, StoredValue) and not (
        isinstance(value.fade, UnsetType) and isinstance(value.delay, UnsetType)
    )


def _delays(
    cue: Cue, part: Part, group: str, direction: Direction
) -> Iterator[Seconds | UnsetType]:
    for holder in (part,) if part is cue else (part, cue):
        times = (holder.times or {}).get(group)  # type: ignore[call-overload]
        if times is not None:
            yield times.delay
        yield _delay_of(holder, direction)


def _fades(cue: Cue, part: Part, group: str, direction: Direction) -> Iterator[Seconds | UnsetType]:
    for holder in (part,) if part is cue else (part, cue):
        times = (holder.times or {}).get(group)  # type: ignore[call-overload]
        if times is not None:
            yield times.fade
        yield _fade_of(holder, direction)


def _delay_of(holder: Part, direction: Direction) -> Seconds | UnsetType:
    out = holder.delay_out if direction == "out" else holder.delay_in
    return holder.delay_in if isinstance(out, UnsetType) else out


def _fade_of(holder: Part, direction: Direction) -> Seconds | UnsetType:
    out = holder.fade_out if direction == "out" else holder.fade_in
    return holder.fade_in if isinstance(out, UnsetType) else out


def _first(*times: Seconds | UnsetType) -> int:
    """Return the first time that is set, in milliseconds; 0 where none is."""
    return next((milliseconds(time) for time in times if not isinstance(time, UnsetType)), 0)
