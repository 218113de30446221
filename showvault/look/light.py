"""Whether a fixture gives light.

- Dark is intensity 0, a closed shutter, or, without an intensity, all emitters at 0.
- A fixture with cells and an intensity of its own obeys that one first; then its cells count.
- A fixture with neither intensity nor emitters is no light, and is dark.
- A shutter is closed in a function whose name says so; one without functions is closed at 0.

Common practice, no source.
"""

import re
from collections.abc import Callable, Mapping

from msgspec import UnsetType

from showvault.look.fixtures import Channels, is_intensity
from showvault.look.flashing import function_at
from showvault.show.model import Channel

LevelOf = Callable[[str, str], int]
"""Gives the level of a fixture's or cell's attribute in millionths of a percent."""

_EMITTER = re.compile(r"Color(Add|RGB)_\w+", re.IGNORECASE)
_SHUTTER = re.compile(r"Shutter\d*", re.IGNORECASE)
_CLOSED = re.compile(r"\b(closed?|blackout|dark)\b", re.IGNORECASE)


def is_lit(channels: Mapping[str, Channels], level_of: LevelOf) -> bool:
    """Tell whether a fixture gives light; ``channels`` are its own and its cells' by key."""
    keys = list(channels)
    own = channels[keys[0]] if keys else {}
    if not own and len(keys) < 2:
        return False
    if _blocked(keys[0], own, level_of):
        return False
    own_light = _gives_light(keys[0], own, level_of)
    cells = [key for key in keys[1:] if _can_give_light(channels[key])]
    if not cells:
        return own_light
    return (own_light and _has_emitters(own)) or any(
        not _blocked(key, channels[key], level_of) and _gives_light(key, channels[key], level_of)
        for key in cells
    )


def by_fixture(channels: Mapping[str, Channels]) -> dict[str, dict[str, Channels]]:
    """Return the channels of each fixture: its own first, then those of its cells."""
    found: dict[str, dict[str, Channels]] = {}
    for key, of_key in channels.items():
        found.setdefault(key.partition(".")[0], {})[key] = of_key
    return found


def _blocked(key: str, channels: Channels, level_of: LevelOf) -> bool:
    """Tell whether an intensity at 0 or a closed shutter keeps everything of a key dark."""
    return any(
        (is_intensity(attribute) and level_of(key, attribute) == 0)
        or (_SHUTTER.fullmatch(attribute) and _closed(channel, level_of(key, attribute)))
        for attribute, channel in channels.items()
    )


def _gives_light(key: str, channels: Channels, level_of: LevelOf) -> bool:
    if any(map(is_intensity, channels)):
        return True
    return any(_EMITTER.fullmatch(name) and level_of(key, name) > 0 for name in channels)


def _can_give_light(channels: Channels) -> bool:
    return any(is_intensity(name) or _EMITTER.fullmatch(name) for name in channels)


def _has_emitters(channels: Channels) -> bool:
    return any(_EMITTER.fullmatch(name) for name in channels)


def _closed(channel: Channel, level: int) -> bool:
    if not channel.functions:
        return level == 0
    function = function_at(channel, level)
    if function is None or isinstance(function.name, UnsetType):
        return False
    return _CLOSED.search(function.name) is not None
