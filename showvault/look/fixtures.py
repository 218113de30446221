"""Which parameters the fixtures of a show have.

A parameter is an attribute of a fixture ("101") or of one of its cells ("101.2"), as the fixture's
type and mode say. Where a mode has two channels of one attribute, both obey the same level and the
first one's default counts. A fixture whose type or mode is missing from the show has none.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from msgspec import UnsetType

from showvault.look.levels import millionths
from showvault.show.addressing import place_order
from showvault.show.attributes import feature_group
from showvault.show.model import Channel, Mode, Show

Channels = Mapping[str, Channel]
"""The channels of a fixture or cell by attribute."""


@dataclass(frozen=True)
class Rig:
    """The fixtures of a show and what they can do."""

    channels: Mapping[str, Channels]
    """By fixture or cell ("101", "101.2"), in the order of their numbers."""
    types: Mapping[str, str]
    """The type of each fixture, by its number."""

    def type_of(self, key: str) -> str:
        """Return the type of a fixture or of a cell's fixture; empty outside the patch."""
        return self.types.get(key.partition(".")[0], "")

    def channel(self, key: str, attribute: str) -> Channel | None:
        """Return the channel of a parameter; None where the fixture has no such parameter."""
        channels = self.channels.get(key)
        return channels.get(attribute) if channels else None

    def default(self, key: str, attribute: str) -> int | None:
        """Return the level a parameter has by itself; None where there is no such parameter."""
        channel = self.channel(key, attribute)
        return None if channel is None else millionths(channel.default)

    def only(self, fixtures: Collection[str]) -> "Rig":
        """Return the rig with some fixtures and their cells alone."""
        channels = {
            key: of_key
            for key, of_key in self.channels.items()
            if key.partition(".")[0] in fixtures
        }
        return Rig(channels, {key: self.types[key] for key in fixtures if key in self.types})

    def snaps(self, key: str, attribute: str) -> bool:
        """Tell whether a parameter jumps instead of fading."""
        channel = self.channel(key, attribute)
        return channel is not None and channel.snap is True


def rig_of(show: Show) -> Rig:
    """Return the fixtures of a show with their parameters."""
    modes: dict[tuple[str, str], dict[str, Channels]] = {}
    channels: dict[str, Channels] = {}
    types: dict[str, str] = {}
    patch = show.patch or {}
    for number in sorted(patch, key=place_order):
        fixture = patch[number]
        types[number] = fixture.type
        kind = (fixture.type, fixture.mode)
        if kind not in modes:
            modes[kind] = _channels_of(mode_of(show, *kind))
        for cell, of_cell in modes[kind].items():
            channels[f"{number}.{cell}" if cell else number] = of_cell
    return Rig(channels, types)


def mode_of(show: Show, type_name: str, mode_name: str) -> Mode | None:
    """Return a mode of a fixture type; None where the show has no such type or mode."""
    fixture_type = (show.fixture_types or {}).get(type_name)
    if fixture_type is None or isinstance(fixture_type.modes, UnsetType):
        return None
    return fixture_type.modes.get(mode_name)


def is_intensity(attribute: str) -> bool:
    """Tell whether an attribute is an intensity: the feature group Dimmer of GDTF."""
    return feature_group(attribute) == "Dimmer"


def _channels_of(mode: Mode | None) -> dict[str, Channels]:
    if mode is None:
        return {"": {}}
    cells = mode.cells or {}
    return {"": _by_attribute(mode.channels or [])} | {
        number: _by_attribute(cells[number].channels or [])
        for number in sorted(cells, key=place_order)
    }


def _by_attribute(channels: list[Channel]) -> Channels:
    found: dict[str, Channel] = {}
    for channel in channels:
        found.setdefault(channel.attribute, channel)
    return found
