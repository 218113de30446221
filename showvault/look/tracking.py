"""What each cue of a list alone puts on stage once it has finished.

- Looks run in number order from all-default; links, jumps and loops change no look.
- In a tracking list a stored value holds until a later cue stores another. In one that does not
  track, an intensity that a cue does not store is 0; everything else holds.
- A released parameter goes to its default. Effects are no part of a look.

Common practice, no source. A look is a copy of the look before and a scatter of what its cue
stores.
Every 32nd look is kept, so that one look costs the same anywhere in a list.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from showvault.errors import ShowvaultError
from showvault.look.columns import ColumnBuilder, Columns
from showvault.look.fixtures import Rig, rig_of
from showvault.look.flattening import CueValues, flattener
from showvault.look.levels import ABSENT, percent_as_json, percent_of
from showvault.look.storing import is_tracking, list_of
from showvault.show.addressing import cue_order, place_order
from showvault.show.model import Show

if TYPE_CHECKING:
    from showvault.look.columns import Levels

KEYFRAME_EVERY = 32
"""Every how many cues a whole look is kept."""


class NoSuchLookError(ShowvaultError):
    """A look was asked for of a list or a cue that is not in the show."""

    exit_code = 4

    def __init__(self, what: str, wanted: str, near: Iterable[str]) -> None:
        super().__init__(f"the show has no {what} {wanted}")
        self.wanted = wanted
        there = ", ".join(near)
        if there:
            self.hint = f"near it: {there}"


@dataclass(frozen=True)
class Look:
    """What one list puts on stage once a cue has finished.

    ``levels`` maps fixtures and cells to attributes to millionths of a percent.
    """

    list: str
    cue: str
    levels: Mapping[str, Mapping[str, int]]

    def level(self, fixture: str, attribute: str) -> Decimal | None:
        """Return a level in percent; None where the look has no such parameter."""
        level = self.levels.get(fixture, {}).get(attribute)
        return None if level is None else percent_of(level)


@dataclass(frozen=True, eq=False)
class TrackedList:
    """A cue list as arrays, ready to answer for any cue."""

    list: str
    tracking: bool
    cues: tuple[str, ...]
    """In number order."""
    columns: Columns
    values: tuple[CueValues, ...]
    keyframes: tuple[Levels, ...]
    """The look of every 32nd cue, the first one's included."""


@dataclass(frozen=True, eq=False)
class LookTable:
    """All looks of a list: one row a cue, one column a parameter."""

    list: str
    cues: tuple[str, ...]
    columns: Columns
    levels: Levels

    def look(self, cue: str) -> Look:
        """Return one row as a look. Raises NoSuchLookError."""
        row = self.levels[_row_of(self.cues, cue, self.list)]
        return Look(self.list, cue, _by_fixture(self.columns, row))


def look_at(show: Show, list_number: str, cue: str) -> Look:
    """Return the look of one cue. Raises NoSuchLookError."""
    return look_of(track_list(show, list_number), cue)


def all_looks(show: Show, list_number: str) -> LookTable:
    """Return the looks of all cues of a list. Raises NoSuchLookError."""
    return table_of(track_list(show, list_number))


def look_of(tracked: TrackedList, cue: str) -> Look:
    """Return the look of one cue, from the keyframe before it. Raises NoSuchLookError."""
    row = row_at(tracked, _row_of(tracked.cues, cue, tracked.list))
    return Look(tracked.list, cue, _by_fixture(tracked.columns, row))


def look_as_json(look: Look) -> dict[str, dict[str, int | float]]:
    """Return a look as JSON: fixture or cell, attribute, percent."""
    return {
        key: {attribute: percent_as_json(level) for attribute, level in levels.items()}
        for key, levels in look.levels.items()
    }


def track_list(show: Show, list_number: str) -> TrackedList:
    """Return a cue list as arrays. Raises NoSuchLookError where there is no such list."""
    return _track(show, list_number, rig_of(show), None, {})


def track_fixtures(show: Show, list_number: str, fixtures: Collection[str]) -> TrackedList:
    """Return the part of a list that concerns some fixtures and their cells, as arrays.

    Raises NoSuchLookError where there is no such list.
    """
    return _track(show, list_number, rig_of(show).only(fixtures), None, {}, fixtures)


def retrack(before: TrackedList, show: Show, changed: Collection[str]) -> TrackedList:
    """Return a list as arrays after an edit, turning only the ``changed`` cues into arrays.

    ``changed`` names the cues that were edited or added or that use a preset that was edited; the
    patch and its types must be as they were. Looks before the first changed cue are taken over.
    """
    kept = {
        cue: values
        for cue, values in zip(before.cues, before.values, strict=True)
        if cue not in changed
    }
    return _track(show, before.list, rig_of(show), before, kept)


def table_of(tracked: TrackedList) -> LookTable:
    """Return the looks of all cues of a list."""
    import numpy as np

    table = np.empty((len(tracked.cues), len(tracked.columns.parameters)), np.int32)
    row = tracked.columns.defaults
    for into, values in zip(table, tracked.values, strict=True):
        into[:] = row
        row = into
        if not tracked.tracking:
            _darken(tracked.columns, row)
        row[values.columns] = values.levels
    return LookTable(tracked.list, tracked.cues, tracked.columns, table)


def row_at(tracked: TrackedList, number: int) -> Levels:
    """Return the look of the n-th cue as an array."""
    start = number // KEYFRAME_EVERY
    row = tracked.keyframes[start].copy()
    for values in tracked.values[start * KEYFRAME_EVERY + 1 : number + 1]:
        _step(tracked.columns, tracked.tracking, row, values)
    return row


def _track(
    show: Show,
    list_number: str,
    rig: Rig,
    before: TrackedList | None,
    kept: Mapping[str, CueValues],
    fixtures: Collection[str] | None = None,
) -> TrackedList:
    cue_list = list_of(show, list_number)
    if cue_list is None:
        raise NoSuchLookError("list", list_number, sorted(show.cue_lists or {}, key=place_order))
    cues = cue_list.cues or {}
    numbers = tuple(sorted(cues, key=cue_order))
    builder = ColumnBuilder(rig, before.columns if before else None)
    flatten = flattener(show, rig, builder, fixtures)
    values = tuple(kept[number] if number in kept else flatten(cues[number]) for number in numbers)
    columns = builder.build()
    tracking = is_tracking(cue_list)
    done = _keyframes_that_hold(before, numbers, values, columns, tracking) if before else []
    keyframes = tuple(_keyframes(columns, tracking, values, done))
    return TrackedList(list_number, tracking, numbers, columns, values, keyframes)


def _keyframes_that_hold(
    before: TrackedList,
    numbers: tuple[str, ...],
    values: tuple[CueValues, ...],
    columns: Columns,
    tracking: bool,
) -> list[Levels]:
    """Return the keyframes that come before every change."""
    same_columns = len(columns.parameters) == len(before.columns.parameters)
    if not same_columns or tracking != before.tracking:
        return []
    same = 0
    for number, old_number, new, old in zip(
        numbers, before.cues, values, before.values, strict=False
    ):
        if number != old_number or new is not old:
            break
        same += 1
    return list(before.keyframes[: (same + KEYFRAME_EVERY - 1) // KEYFRAME_EVERY])


def _keyframes(
    columns: Columns, tracking: bool, values: tuple[CueValues, ...], done: list[Levels]
) -> Iterator[Levels]:
    yield from done
    first = max(0, (len(done) - 1) * KEYFRAME_EVERY + 1)
    row = done[-1].copy() if done else columns.defaults.copy()
    for number, of_cue in enumerate(values[first:], first):
        _step(columns, tracking, row, of_cue)
        if number % KEYFRAME_EVERY == 0:
            yield row.copy()


def _step(columns: Columns, tracking: bool, row: Levels, values: CueValues) -> None:
    """Turn the look before a cue into the look after it."""
    if not tracking:
        _darken(columns, row)
    row[values.columns] = values.levels


def _darken(columns: Columns, row: Levels) -> None:
    """Set every intensity that is there to 0."""
    row[columns.intensities[row[columns.intensities] != ABSENT]] = 0


def _by_fixture(columns: Columns, row: Levels) -> dict[str, dict[str, int]]:
    levels = row.tolist()
    look = {
        key: {
            attribute: levels[column]
            for attribute, column in of_key.items()
            if levels[column] != ABSENT
        }
        for key, of_key in columns.index.items()
    }
    return {key: of_key for key, of_key in look.items() if of_key}


def _row_of(cues: tuple[str, ...], cue: str, list_number: str) -> int:
    row = bisect_left(cues, cue_order(cue), key=cue_order)
    if row == len(cues) or cues[row] != cue:
        raise NoSuchLookError(f"list {list_number} cue", cue, cues[max(0, row - 1) : row + 1])
    return row
