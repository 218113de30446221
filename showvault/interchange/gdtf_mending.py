"""A fixture type's XML (GDTF 1.2, DIN SPEC 15800) made safe and exact before the library reads it.

pygdtf lays out the channels of a mode; it also has ways of its own with odd values, and each of
them is met here, in one place:

- It reads 255/1s as 255/1 and never widens: every DMX value becomes one of the channel's own width,
  by byte mirroring, or by shift where it is marked "s" (Table 1).
- It reads unreadable values as 0: they are taken out and told.
- A default stands on the channel function since 1.1, on the channel before (Table 60, revision
  history): the one that counts is put on the channel, and the link to the function is taken out.
- It loses the break "Overwrite" of repeated channels: gdtf_references writes them out.
- It makes lists as long as the largest offset and break: offsets beyond 512 and breaks beyond 64
  are taken out and told.
- It mixes functions that hold under different modes of another channel: those of the first stay.
- It reads every mode, wheel and model, which is slow: only the modes that are wanted stay.
"""

import math
import re
from collections.abc import Collection
from typing import TYPE_CHECKING

from showvault.interchange.gdtf_references import LARGEST_OFFSET, write_out_references
from showvault.interchange.loss_book import LossBook

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

LARGEST_BREAK = 64
MOST_SLOTS = 4
_DMX_VALUE = re.compile(r"(\d{1,10})/([1-4])(s?)", re.ASCII)
_WHOLE = re.compile(r"\d{1,6}", re.ASCII)
_NOT_NEEDED = ("Models", "Wheels", "PhysicalDescriptions", "Revisions", "FTPresets", "Protocols")


def widen(text: str, slots: int) -> int | None:
    """Return a DMX value in a channel of that many slots; None for a text that is none.

    255/1 is 65535 in two slots, 255/1s is 65280 (GDTF Table 1); 32768/2 in one slot is 128.
    """
    match = _DMX_VALUE.fullmatch(text.strip())
    if match is None:
        return None
    value, size, shift = int(match.group(1)), int(match.group(2)), match.group(3)
    if value >= 256**size:
        return None
    if slots <= size:
        return value >> 8 * (size - slots)
    if shift:
        return value << 8 * (slots - size)
    mirrored = value.to_bytes(size, "big") * slots
    return int.from_bytes(mirrored[:slots], "big")


def mend_fixture_type(
    fixture_type: "Element", wanted: Collection[str] | None, book: LossBook, where: str
) -> dict[str, list[str]]:
    """Mend the XML in place; ``wanted`` names the modes to keep, None keeps them all.

    Returns the names of each mode's geometry references (see gdtf_references), and raises
    CannotReadError as it does.
    """
    for name in _NOT_NEEDED:
        for node in fixture_type.findall(name):
            book.add("wheels, models, revisions and physical descriptions", where, len(node))
            fixture_type.remove(node)
    for attribute in ("ThumbnailOffsetX", "ThumbnailOffsetY"):
        fixture_type.attrib.pop(attribute, None)
    modes = fixture_type.find("DMXModes")
    for mode in [] if modes is None else modes.findall("DMXMode"):
        if wanted is not None and mode.get("Name") not in wanted:
            modes.remove(mode)  # type: ignore[union-attr]
            book.add("modes that no fixture uses", where)
            continue
        for name in ("Relations", "FTMacros"):
            for node in mode.findall(name):
                book.add({"Relations": "relations", "FTMacros": "macros"}[name], where, len(node))
                mode.remove(node)
        _mend_channels(mode, book, f"{where} mode {mode.get('Name')}")
    for node in fixture_type.iter("Break"):
        _mend_break(node, book, where)
    return write_out_references(fixture_type, book, where)


def _mend_channels(mode: "Element", book: LossBook, where: str) -> None:
    channels = mode.find("DMXChannels")
    for channel in [] if channels is None else channels.findall("DMXChannel"):
        slots = _slots(channel.get("Offset", ""))
        break_ = channel.get("DMXBreak", "1")
        if slots is None or not (break_ == "Overwrite" or _is_up_to(break_, LARGEST_BREAK)):
            book.add("channels with an offset or break that cannot be", where)
            channels.remove(channel)  # type: ignore[union-attr]
            continue
        _mend_values(channel, slots or _widest(channel), book, where)


def _mend_values(channel: "Element", slots: int, book: LossBook, where: str) -> None:
    default = _default_of(channel)
    channel.attrib.pop("InitialFunction", None)
    if default is not None:
        channel.set("Default", default)
    if channel.get("Highlight", "").lower() == "none":
        del channel.attrib["Highlight"]
    for element, names in [
        (channel, ("Default", "Highlight")),
        *((node, ("Default", "DMXFrom")) for node in channel.iter("ChannelFunction")),
    ]:
        for name in names:
            if name in element.attrib:
                value = widen(element.attrib[name], slots)
                if value is None:
                    book.add("DMX values that cannot be read", f"{where}: {element.attrib[name]}")
                    del element.attrib[name]
                else:
                    element.set(name, f"{value}/{slots}")
    _keep_one_mode_of_functions(channel, book, where)
    for function in channel.iter("ChannelFunction"):
        for node in list(function):  # sets name values inside a function: too fine for a show
            function.remove(node)
        for name in ("ModeMaster", "ModeFrom", "ModeTo"):
            function.attrib.pop(name, None)
        for name in ("PhysicalFrom", "PhysicalTo", "RealFade", "RealAcceleration", "Min", "Max"):
            if name in function.attrib and not _is_finite(function.attrib[name]):
                book.add("physical values that cannot be read", where)
                del function.attrib[name]


def _keep_one_mode_of_functions(channel: "Element", book: LossBook, where: str) -> None:
    for logical in channel.iter("LogicalChannel"):
        first = None
        for function in logical.findall("ChannelFunction"):
            mode = tuple(function.get(name) for name in ("ModeMaster", "ModeFrom", "ModeTo"))
            first = mode if first is None else first
            if mode != first:
                book.add("functions that depend on the mode of another channel", where)
                logical.remove(function)


def _default_of(channel: "Element") -> str | None:
    """Return the default that counts: the initial function's, the channel's, or the first."""
    functions = [
        (f"{logical.get('Attribute')}.{function.get('Name')}", function.get("Default"))
        for logical in channel.iter("LogicalChannel")
        for function in logical.iter("ChannelFunction")
    ]
    initial = channel.get("InitialFunction", "").partition(".")[2]
    for name, default in functions:
        if name == initial and default is not None:
            return default
    own = channel.get("Default")
    return own if own is not None or not functions else functions[0][1]


def _slots(offset: str) -> int | None:
    """Return how many slots an offset has, 0 for a virtual channel; None where it cannot be."""
    if offset in ("", "None"):
        return 0
    values = offset.split(",")
    if len(values) > MOST_SLOTS or not all(_is_up_to(v.strip(), LARGEST_OFFSET) for v in values):
        return None
    return len(values)


def _widest(channel: "Element") -> int:
    """Return a width for a virtual channel that every value of it fits."""
    found = [1]
    for element in channel.iter():
        for name in ("Default", "DMXFrom", "Highlight"):
            match = _DMX_VALUE.fullmatch(element.get(name, ""))
            if match is not None:
                found.append(int(match.group(2)))
    return max(found)


def _mend_break(node: "Element", book: LossBook, where: str) -> None:
    if not _is_up_to(node.get("DMXBreak", "1"), LARGEST_BREAK):
        book.add("breaks that cannot be", where)
        node.set("DMXBreak", "1")
    if not _is_up_to(node.get("DMXOffset", "1"), LARGEST_OFFSET):
        book.add("offsets of cells that cannot be", where)
        node.set("DMXOffset", "1")


def _is_up_to(text: str, largest: int) -> bool:
    return _WHOLE.fullmatch(text) is not None and 1 <= int(text) <= largest


def _is_finite(text: str) -> bool:
    try:
        return math.isfinite(float(text))
    except ValueError:
        return False
