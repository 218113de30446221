"""How levels are written in ASCII cue data: in per cent or in bytes, and how exactly.

There are 101 per cents and 256 bytes; each per cent has a byte of its own (percent × 255 / 100,
halves up), so per cent to byte and back loses nothing, and byte to per cent does.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from typing import Literal

from showvault.interchange.ascii_values import AsciiData, AsciiItem, AsciiPart, level_percent
from showvault.interchange.loss_book import LossBook

LevelsAs = Literal["auto", "percent", "hex"]


def spell_levels(data: AsciiData, levels_as: LevelsAs, book: LossBook) -> AsciiData:
    """Return the data with its levels, given as decimal percents ("62.5"), in a notation.

    ``auto`` writes whole per cents as such and every other level as the byte that is nearest, so
    that what came in either notation goes out as it came. Levels that move are entered into the
    book.
    """
    used = Counter(_levels_of(data))
    spell = {"auto": _in_either, "percent": _in_percent, "hex": _in_bytes}[levels_as]
    spelled = {text: spell(Decimal(text)) for text in used}
    for text, count in used.items():
        if level_percent(spelled[text]) != Decimal(text):
            book.add("levels moved to the nearest step of the notation", f"{text} %", count)
    for part in _parts_of(data):
        part.levels = {channel: spelled[text] for channel, text in part.levels.items()}
    patch = tuple(replace(entry, level=spelled[entry.level]) for entry in data.patch)
    return replace(data, patch=patch)


def _levels_of(data: AsciiData) -> Iterator[str]:
    for part in _parts_of(data):
        yield from part.levels.values()
    for entry in data.patch:
        yield entry.level


def _parts_of(data: AsciiData) -> Iterator[AsciiPart]:
    items: tuple[AsciiItem, ...] = (*data.cues, *data.groups, *data.subs)
    for item in items:
        yield item
        yield from item.parts.values()


def _in_either(percent: Decimal) -> str:
    return _in_percent(percent) if percent == int(percent) else _in_bytes(percent)


def _in_percent(percent: Decimal) -> str:
    return str(int(percent.to_integral_value(ROUND_HALF_UP)))


def _in_bytes(percent: Decimal) -> str:
    return f"H{int((percent * 255 / 100).to_integral_value(ROUND_HALF_UP)):02X}"
