"""What one cue stores, as arrays.

This is most of the cost of looks: after an edit it is done for the cues that can differ alone.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from msgspec import UnsetType

from showvault.look.columns import ColumnBuilder
from showvault.look.fixtures import Rig
from showvault.look.levels import ABSENT, millionths
from showvault.look.presets import held_level, preset_named
from showvault.look.storing import parts_in_order
from showvault.show.model import Cue, Preset, Show, StoredValue, Value

if TYPE_CHECKING:
    from showvault.look.columns import Levels, Numbers


@dataclass(frozen=True, eq=False)
class CueValues:
    """What one cue stores: numbers of columns, and the level each goes to."""

    columns: Numbers
    levels: Levels


def flattener(
    show: Show, rig: Rig, builder: ColumnBuilder, fixtures: Collection[str] | None = None
) -> Callable[[Cue], CueValues]:
    """Return what turns a cue of the show into arrays; a release goes to the default.

    Only the values of ``fixtures`` and their cells are turned, where they are given.
    """
    import numpy as np

    presets: dict[str, Preset | None] = {}

    def level_of(key: str, attribute: str, value: StoredValue) -> int | None:
        if not isinstance(value.level, UnsetType):
            return millionths(value.level)
        if isinstance(value.preset, UnsetType):
            if value.release is not True:
                return None
            default = rig.default(key, attribute)
            return ABSENT if default is None else default
        if value.preset not in presets:
            presets[value.preset] = preset_named(show, value.preset)
        return held_level(presets[value.preset], key, rig.type_of(key), attribute)

    def flatten(cue: Cue) -> CueValues:
        found: dict[int, int] = {}
        for key, values in _levels_of(cue, fixtures):
            of_key = builder.index.get(key, {})
            for attribute, value in values.items():
                level = (
                    level_of(key, attribute, value)
                    if isinstance(value, StoredValue)
                    else round(value * 1_000_000)
                )
                if level is None:
                    continue
                column = of_key.get(attribute)
                if column is None:
                    column = builder.add(key, attribute)
                found[column] = level
        count = len(found)
        return CueValues(
            np.fromiter(found, np.intp, count), np.fromiter(found.values(), np.int32, count)
        )

    return flatten


def _levels_of(
    cue: Cue, fixtures: Collection[str] | None
) -> Iterator[tuple[str, Mapping[str, Value]]]:
    for _, part in parts_in_order(cue):
        for key, values in (part.levels or {}).items():
            if fixtures is None or key.partition(".")[0] in fixtures:
                yield key, values
