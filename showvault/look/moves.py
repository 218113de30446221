"""Which changes of position, colour or gobo somebody can see: live moves and dark moves.

- A move is live if the fixture is lit in the look before or after, unless the times keep it dark:
  on the way up it has arrived before the light comes, on the way down it begins after it has gone.
- Where the desk pre-sets dark fixtures by itself (``dark_moves`` automatic), a fixture that was
  dark has moved before its light comes.
- The first cue of a list moves from the defaults, in the dark of the start.

Common practice, no source.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from typing import TYPE_CHECKING, Literal, NamedTuple

from showvault.look.fixtures import Channels, Rig, is_intensity, rig_of
from showvault.look.light import by_fixture, is_lit
from showvault.look.storing import list_of, stored_values
from showvault.look.timing import Times, direction_of, times_of
from showvault.look.tracking import LookTable, table_of, track_fixtures
from showvault.show.attributes import feature_group
from showvault.show.model import Cue, Show

if TYPE_CHECKING:
    from showvault.look.columns import Levels

SEEN_MOVING = ("Position", "Color", "Gobo")
"""The feature groups whose changes are moves."""


class Move(NamedTuple):
    """A fixture that changes position, colour or gobo on the way into a cue."""

    cue: str
    fixture: str
    attributes: tuple[str, ...]
    seen: Literal["live", "dark"]


def find_moves(show: Show, list_number: str, fixtures: Collection[str]) -> list[Move]:
    """Return the moves of some fixtures, in the order of the list.

    Raises NoSuchLookError where there is no such list.
    """
    table = table_of(track_fixtures(show, list_number, fixtures))
    rig = rig_of(show).only(fixtures)
    return list(_Walk(show, list_number, rig, table).moves())


class LitTable:
    """Whether fixtures are lit, look by look of one list."""

    def __init__(self, rig: Rig, table: LookTable) -> None:
        self.channels: Mapping[str, Mapping[str, Channels]] = by_fixture(rig.channels)
        self._table = table
        self._index = table.columns.index

    def lit(self, fixture: str, row: int) -> bool:
        """Tell whether a fixture is lit in the look of the n-th cue; before the first none is."""
        if row < 0 or fixture not in self.channels:
            return False
        levels: Levels = self._table.levels[row]
        return is_lit(
            self.channels[fixture],
            lambda key, attribute: int(levels[self._index[key][attribute]]),
        )


class _Walk:
    def __init__(self, show: Show, list_number: str, rig: Rig, table: LookTable) -> None:
        self.rig = rig
        self.table = table
        self.lights = LitTable(rig, table)
        cue_list = list_of(show, list_number)
        self.cues: Mapping[str, Cue] = (cue_list.cues if cue_list else None) or {}
        self.presets_itself = cue_list is not None and cue_list.dark_moves == "automatic"

    def moves(self) -> Iterator[Move]:
        import numpy as np

        parameters = self.table.columns.parameters
        moving = np.array(
            [feature_group(name) in SEEN_MOVING for _, name in parameters], dtype=bool
        )
        before = self.table.columns.defaults
        for row, levels in enumerate(self.table.levels):
            changed = np.flatnonzero((levels != before) & moving)
            by_fixture: dict[str, list[tuple[str, str]]] = defaultdict(list)
            for column in changed.tolist():
                key, name = parameters[column]
                by_fixture[key.partition(".")[0]].append((key, name))
            for fixture, changes in by_fixture.items():
                names = tuple(dict.fromkeys(name for _, name in changes))
                yield Move(
                    self.table.cues[row], fixture, names, self._seen(row, fixture, changes, before)
                )
            before = levels

    def _seen(
        self, row: int, fixture: str, changes: list[tuple[str, str]], before: Levels
    ) -> Literal["live", "dark"]:
        was, will = self.lights.lit(fixture, row - 1), self.lights.lit(fixture, row)
        if not was and (not will or self.presets_itself):
            return "dark"
        if was and will:
            return "live"
        cue = self.cues[self.table.cues[row]]
        light = self._times_of_light(cue, fixture, before, self.table.levels[row])
        moves = [time for key, name in changes if (time := self._times(cue, key, name, "in"))]
        if not light or not moves:
            return "live"
        if will:  # the light comes: the last move has to be over before the first light
            dark = max(move.end for move in moves) <= min(time.delay for time in light)
        else:  # the light goes: the first move has to wait for the last light
            dark = min(move.delay for move in moves) >= max(time.end for time in light)
        return "dark" if dark else "live"

    def _times_of_light(self, cue: Cue, fixture: str, before: Levels, after: Levels) -> list[Times]:
        index = self.table.columns.index
        found = []
        for key, channels in self.lights.channels.get(fixture, {}).items():
            for name in channels:
                column = index[key][name]
                one, other = int(before[column]), int(after[column])
                if one != other and feature_group(name) not in SEEN_MOVING:
                    direction = direction_of(name, one, other)
                    time = self._times(cue, key, name, direction)
                    if time is not None and (is_intensity(name) or name.startswith("Shutter")):
                        found.append(time)
        return found

    def _times(
        self, cue: Cue, key: str, name: str, direction: Literal["in", "out"]
    ) -> Times | None:
        stored = stored_values(cue, key, name)
        if not stored:
            return None
        return times_of(self.rig, cue, stored[0], key, name, direction)
