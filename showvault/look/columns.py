"""In which column of an array each parameter of a list stands.

- Every parameter of every fixture and cell in the patch has a column, in the order of the patch.
- What a list stores for a fixture or an attribute that does not exist gets a column behind them.
  It is absent from every look before the first cue that stores it, shows the stored level from
  there on (nothing else would tell a reviewer), and is absent again once released: no default.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from showvault.look.fixtures import Rig, is_intensity
from showvault.look.levels import ABSENT, millionths
from showvault.show.addressing import place_order

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Levels = NDArray[np.int32]
    """Levels in millionths of a percent, or ABSENT."""
    Numbers = NDArray[np.intp]
    """Numbers of columns, as arrays are indexed fastest."""

Parameter = tuple[str, str]
"""Fixture or cell, and attribute."""


@dataclass(frozen=True, eq=False)
class Columns:
    """The parameters of a list, one column each."""

    parameters: tuple[Parameter, ...]
    index: Mapping[str, Mapping[str, int]]
    """Column by fixture or cell, and attribute, in the order of their numbers."""
    defaults: Levels
    intensities: Numbers
    """The columns that a list which does not track sets to 0 where a cue stores nothing."""


class ColumnBuilder:
    """Columns while a list is being read: unknown parameters are added as they are met."""

    def __init__(self, rig: Rig, start: Columns | None = None) -> None:
        self.parameters: list[Parameter] = []
        self.index: dict[str, dict[str, int]] = {}
        self.defaults: list[int] = []
        if start is not None:
            self.parameters = list(start.parameters)
            self.index = {key: dict(of_key) for key, of_key in start.index.items()}
            self.defaults = start.defaults.tolist()
            return
        for key, channels in rig.channels.items():
            first = len(self.parameters)
            self.index[key] = dict(zip(channels, range(first, first + len(channels)), strict=True))
            self.parameters += [(key, attribute) for attribute in channels]
            self.defaults += [millionths(channel.default) for channel in channels.values()]

    def add(self, key: str, attribute: str) -> int:
        """Return the column of a parameter, a new one where it has none."""
        of_key = self.index.setdefault(key, {})
        if attribute not in of_key:
            of_key[attribute] = len(self.parameters)
            self.parameters.append((key, attribute))
            self.defaults.append(ABSENT)
        return of_key[attribute]

    def build(self) -> Columns:
        """Return the columns as they are now."""
        import numpy as np

        intensities = [n for n, (_, name) in enumerate(self.parameters) if is_intensity(name)]
        return Columns(
            tuple(self.parameters),
            {key: self.index[key] for key in sorted(self.index, key=place_order)},
            np.array(self.defaults, np.int32),
            np.array(intensities, np.intp),
        )
