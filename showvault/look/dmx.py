"""Which DMX slots of each universe a look sets.

- A channel of n slots sends round(level × (256^n − 1) / 100), halves up, coarse byte first, in
  whole numbers (GDTF 1.2 table 58 for the order of the bytes, ANSI E1.11 for the 512 slots).
- A swapped fixture sends Pan on the channel of Tilt and the other way round; ``invert`` then turns
  round the channel it names. An address sends its curve first and scales what comes out; both
  are for intensities alone. Common practice, no source.
- A channel goes to every address of its break. One without slots is virtual and sends nothing. What
  would lie past slot 512 is left out; the check reports it, as it does where fixtures overlap
  (the higher fixture number is sent).
"""

import math
from collections.abc import Iterator, Mapping
from fractions import Fraction
from itertools import pairwise

from msgspec import UnsetType

from showvault.look.fixtures import is_intensity, mode_of
from showvault.look.levels import FULL, millionths
from showvault.look.tracking import Look
from showvault.show.addressing import place_order
from showvault.show.model import Channel, Curve, Fixture, Show, StartAddress

SLOTS = 512
_SWAPPED = {"Pan": "Tilt", "Tilt": "Pan"}


def dmx_of(show: Show, look: Look) -> dict[int, bytes]:
    """Return the 512 slots of each universe in which a fixture of the show is patched."""
    universes: dict[int, bytearray] = {}
    patch = show.patch or {}
    for number in sorted(patch, key=place_order):
        fixture = patch[number]
        for start in fixture.addresses or []:
            slots = universes.setdefault(start.universe, bytearray(SLOTS))
            for key, channel in _channels(show, number, fixture):
                if (channel.break_ or 1) != (start.break_ or 1):
                    continue
                level = _sent_level(show, fixture, start, channel, look.levels.get(key, {}))
                for offset, value in zip(
                    channel.slots, slot_values(level, len(channel.slots)), strict=True
                ):
                    slot = start.address + offset - 2  # both count from 1
                    if slot < SLOTS:
                        slots[slot] = value
    return {universe: bytes(slots) for universe, slots in sorted(universes.items())}


def slot_values(level: int | Fraction, count: int) -> bytes:
    """Return what a channel of ``count`` slots sends, coarse byte first.

    ``level`` is in millionths of a percent, 0 to FULL.
    """
    steps = Fraction(level) * int(256**count - 1) / FULL
    return math.floor(steps + Fraction(1, 2)).to_bytes(count, "big")


def curved_level(curve: Curve, level: Fraction) -> Fraction:
    """Return what a curve makes of a level: straight between its points, level outside them."""
    if isinstance(curve.points, UnsetType) or not curve.points:
        return level
    points = sorted((millionths(into), millionths(out)) for into, out in curve.points)
    if level <= points[0][0]:
        return Fraction(points[0][1])
    for (low, out_low), (high, out_high) in pairwise(points):
        if level <= high:
            return out_low + (level - low) * (out_high - out_low) / (high - low)
    return Fraction(points[-1][1])


def _channels(show: Show, number: str, fixture: Fixture) -> Iterator[tuple[str, Channel]]:
    mode = mode_of(show, fixture.type, fixture.mode)
    if mode is None:
        return
    for channel in mode.channels or []:
        yield number, channel
    cells = mode.cells or {}
    for cell in sorted(cells, key=place_order):
        for channel in cells[cell].channels or []:
            yield f"{number}.{cell}", channel


def _sent_level(
    show: Show, fixture: Fixture, start: StartAddress, channel: Channel, levels: Mapping[str, int]
) -> Fraction:
    attribute = channel.attribute
    asked = _SWAPPED.get(attribute, attribute) if fixture.swap_pan_tilt is True else attribute
    level = Fraction(levels.get(asked, millionths(channel.default)))
    if attribute in (fixture.invert or []):
        level = FULL - level
    if not is_intensity(attribute):
        return level
    curve = (show.curves or {}).get(start.curve) if start.curve else None
    if curve is not None:
        level = curved_level(curve, level)
    return level if isinstance(start.scale, UnsetType) else level * millionths(start.scale) / FULL
