"""What the cues of one list store for one parameter, as far as a review needs it.

Only what can differ is looked up: a lane knows one parameter of one list of one show.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from msgspec import UnsetType

from showvault.look.fixtures import Rig, is_intensity
from showvault.look.levels import ABSENT, millionths
from showvault.look.presets import held_level, preset_named
from showvault.look.storing import parts_in_order
from showvault.review.pairs import cues_of
from showvault.show.model import Show, StoredValue, Value


class Level(NamedTuple):
    """A stored level in millionths of a percent."""

    level: int


class Reference(NamedTuple):
    """A stored reference to a preset, "Color 1.3"."""

    preset: str


class Release(NamedTuple):
    """A stored release."""


Stored = Level | Reference | Release
StoredInCue = tuple[Stored, ...]
"""What the parts of a cue store for one parameter, the part that wins first; times left out."""

Parameter = tuple[str, str]


def what_is_stored(value: Value) -> Stored | None:
    """Return a stored value without its times; None for one that says nothing."""
    if not isinstance(value, StoredValue):
        return Level(millionths(value))
    if not isinstance(value.level, UnsetType):
        return Level(millionths(value.level))
    if not isinstance(value.preset, UnsetType):
        return Reference(value.preset)
    return Release() if value.release is True else None


def stored_by_cue(
    show: Show, list_number: str, wanted: Mapping[str, Collection[str]]
) -> dict[Parameter, dict[str, StoredInCue]]:
    """Return what each cue stores for the wanted attributes of fixtures and cells."""
    found: dict[Parameter, dict[str, StoredInCue]] = {}
    keys = wanted.keys()
    for number, cue in cues_of(show, list_number).items():
        for _, part in parts_in_order(cue):
            levels = part.levels
            if isinstance(levels, UnsetType):
                continue
            for key in levels.keys() & keys:
                of_key = levels[key]
                for attribute in of_key.keys() & wanted[key]:
                    stored = what_is_stored(of_key[attribute])
                    if stored is not None:
                        by_cue = found.setdefault((key, attribute), {})
                        by_cue[number] = (stored, *by_cue.get(number, ()))
    return found


@dataclass(frozen=True)
class Lane:
    """One parameter of one list of one show; ``key`` as that show calls it."""

    show: Show
    rig: Rig
    key: str | None
    attribute: str
    stored: Mapping[str, StoredInCue]
    """By cue number."""
    cues: Collection[str]
    """All cues of the list."""
    tracking: bool
    hides: bool = False
    """The other show has this parameter and this one does not: nothing of it is seen here."""
    alone: bool = False
    """This show has the parameter and the other one does not: what it has by itself is no news."""

    @property
    def zeroes(self) -> bool:
        """Whether each cue that does not store the parameter sets it to 0."""
        return not self.tracking and is_intensity(self.attribute)

    @property
    def exists(self) -> bool:
        """Whether the show has a fixture with this parameter."""
        return self.key is not None and self.rig.channel(self.key, self.attribute) is not None

    def default(self) -> int:
        """Return the level before the first cue, or ABSENT."""
        if self.key is None or self.hides:
            return ABSENT
        level = self.rig.default(self.key, self.attribute)
        return ABSENT if level is None else level

    def level(self, stored: StoredInCue) -> int | None:
        """Return the level a cue sets by what it stores; None where it counts as not stored."""
        for value in stored:
            level = self._level(value)
            if level is not None:
                return ABSENT if self.hides else level
        return None

    def seen(self, level: int) -> int:
        """Return what a reviewer is told of a level: nothing, where it is no news."""
        if not self.alone or level == ABSENT:
            return level
        none = 0 if is_intensity(self.attribute) else self.default()
        return ABSENT if level == none else level

    def _level(self, value: Stored) -> int | None:
        match value:
            case Level(level):
                return level
            case Reference(name):
                key = self.key or ""
                preset = preset_named(self.show, name)
                return held_level(preset, key, self.rig.type_of(key), self.attribute)
            case Release():
                return self.default()
