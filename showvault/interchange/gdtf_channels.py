"""The channels of a mode as a fixture type's XML says them (GDTF 1.2, Tables 58 to 60).

- The default that counts is that of the initial function, else the channel's own, else that of the
  first function: it stands on functions since 1.1, on the channel before (revision history).
- Defaults, highlights and the limits of functions become percents of the channel's range.
- A function ends where the next begins. Functions that hold under different modes of another
  channel do not go into one row: those of the first mode stay.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from showvault.interchange.allowance import name_that_repeats
from showvault.interchange.exact_numbers import is_up_to, plain_number
from showvault.interchange.gdtf_values import LARGEST_BREAK, parse_offset, percent, size_of, widen
from showvault.interchange.loss_book import LossBook
from showvault.show.trees import Tree

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

NO_ATTRIBUTE = "NoFeature"
"""GDTF Table 60: what a function does that names no attribute."""
_MODE_MASTER = ("ModeMaster", "ModeFrom", "ModeTo")
_OF_CHANNELS = {"Name", "DMXBreak", "Offset", "InitialFunction", "Highlight", "Geometry", "Default"}
_OF_LOGICAL = {"Name", "Attribute", "Snap"}
_OF_FUNCTIONS = {
    *("Name", "Attribute", "DMXFrom", "Default", "PhysicalFrom", "PhysicalTo", "CustomName"),
    *("OriginalAttribute", "Min", "Max"),
}
_SAYS_NOTHING = {"", "None", "No", "0", "0.000000"}
"""How real files write that a field is not used (Tables 59 and 60, defaults)."""


@dataclass(frozen=True, slots=True)
class RawChannel:
    """A channel before it is known where its geometry stands."""

    geometry: str
    break_: int | None
    """None for "Overwrite": the one that a reference gives."""
    offset: tuple[int, ...]
    """Slots, most significant first; none for a virtual channel."""
    attribute: str
    content: dict[str, Tree]
    """Default, highlight, snap, range and functions, as a show holds them."""


@dataclass(frozen=True)
class ChannelReader:
    """Reads the channels of one mode, and tells what it cannot carry."""

    units: Mapping[str, str]
    """The unit of each attribute that has one."""
    book: LossBook
    where: str

    def read(self, mode: "Element") -> list[RawChannel]:
        """Return the channels in the order of the file."""
        found = (self.channel(node) for node in mode.iterfind("DMXChannels/DMXChannel"))
        return [channel for channel in found if channel is not None]

    def channel(self, node: "Element") -> RawChannel | None:
        offset = parse_offset(node.get("Offset", ""))
        break_ = node.get("DMXBreak", "1")
        if offset is None or not (break_ == "Overwrite" or is_up_to(break_, LARGEST_BREAK)):
            self.book.add("channels with an offset or break that cannot be", self.where)
            return None
        self.tell_rest(node, _OF_CHANNELS, "channels")
        logical = node.findall("LogicalChannel")
        self.book.add("further uses of one channel", self.where, len(logical) - 1 if logical else 0)
        functions = self.of_one_mode(logical[0]) if logical else []
        attribute = self.name(logical[0].get("Attribute", "")) if logical else ""
        if not attribute:
            self.book.add("channels without an attribute", self.where)
            attribute = NO_ATTRIBUTE
        slots = len(offset) or _widest(node)
        content = self.values(node, functions, attribute, slots)
        if logical:
            self.tell_rest(logical[0], _OF_LOGICAL, "channels")
            if logical[0].get("Snap") in ("Yes", "On"):
                content["snap"] = True
        return RawChannel(
            geometry=node.get("Geometry", ""),
            break_=None if break_ == "Overwrite" else int(break_),
            offset=offset,
            attribute=attribute,
            content=content | self.functions(functions, attribute, slots),
        )

    def of_one_mode(self, logical: "Element") -> list["Element"]:
        """Return the functions that hold under the mode of the first one."""
        functions = logical.findall("ChannelFunction")
        if not any("ModeMaster" in function.attrib for function in functions):
            return functions
        modes = [tuple(map(function.get, _MODE_MASTER)) for function in functions]
        kept = [f for f, mode in zip(functions, modes, strict=True) if mode == modes[0]]
        self.book.add(
            "functions that depend on the mode of another channel",
            self.where,
            len(functions) - len(kept),
        )
        if modes and modes[0][0] is not None:
            self.book.add("ModeMaster of functions", self.where)
        return kept

    def values(
        self, node: "Element", functions: list["Element"], attribute: str, slots: int
    ) -> dict[str, Tree]:
        made: dict[str, Tree] = {}
        counts = _default_of(node, functions, attribute)
        default = self.dmx_value(counts, slots)
        if default:
            made["default"] = percent(default, slots)
        others = {function.get("Default", counts) for function in functions} - {counts}
        self.book.add("defaults of further functions", self.where, len(others))
        highlight = node.get("Highlight", "None")
        level = None if highlight.lower() == "none" else self.dmx_value(highlight, slots)
        if level is not None:
            made["highlight"] = percent(level, slots)
        return made

    def functions(self, functions: list["Element"], attribute: str, slots: int) -> dict[str, Tree]:
        for function in functions:
            self.tell_rest(function, _OF_FUNCTIONS, "functions")
            if len(function):
                self.book.add("sets inside functions", self.where, len(function))
        unit = self.units.get(attribute)
        if len(functions) > 1:
            return {"functions": self.row(functions, unit, slots)}
        physical = self.physical(functions[0]) if functions else None
        if physical is None:
            return {}
        return {"range": physical} | ({"unit": unit} if unit else {})

    def row(self, functions: list["Element"], unit: str | None, slots: int) -> list[Tree]:
        """Return functions from the lowest up, each ending where the next begins (Table 60)."""
        starts = [self.dmx_value(f.get("DMXFrom", "0/1"), slots) or 0 for f in functions]
        order = sorted(range(len(functions)), key=starts.__getitem__)
        ends = [percent(starts[place], slots) for place in order[1:]] + [100]
        listed: list[Tree] = []
        for place, end in zip(order, ends, strict=True):
            function = functions[place]
            attribute = self.name(function.get("Attribute") or NO_ATTRIBUTE)
            usual = f"{attribute} {place + 1}"  # Table 60, default of Name
            name = self.name(function.get("CustomName", "") or function.get("Name", usual))
            entry: dict[str, Tree] = {"name": name} if name else {}
            entry |= {"from": percent(starts[place], slots), "to": end}
            physical = self.physical(function)
            if physical is not None:
                entry["physical"] = physical
                own = self.units.get(attribute, unit)
                if own:
                    entry["unit"] = own
            listed.append(entry)
        return listed

    def physical(self, function: "Element") -> list[int | Decimal] | None:
        """Return the physical values of a function; 0 to 1 is what stands where nothing is said."""
        values = []
        for name, usual in (("PhysicalFrom", "0"), ("PhysicalTo", "1")):
            value = plain_number(function.get(name, usual))
            if value is None:
                self.book.add("physical values that cannot be read", self.where)
                value = int(usual)
            values.append(value)
        return None if values == [0, 1] else values

    def dmx_value(self, text: str | None, slots: int) -> int | None:
        """Return a DMX value, widened to the channel; what cannot be read is told."""
        if text is None:
            return None
        value = widen(text, slots)
        if value is None:
            self.book.add("DMX values that cannot be read", f"{self.where}: {text[:40]}")
        return value

    def name(self, text: str) -> str:
        """Return a name that each repetition of a geometry says again."""
        return name_that_repeats(text, self.book, self.where)

    def tell_rest(self, node: "Element", carried: set[str], of: str) -> None:
        """Enter each attribute that says something and is not carried: "Master of channels"."""
        if node.attrib.keys() <= carried:
            return
        for name in node.attrib.keys() - carried:
            if name not in _MODE_MASTER and node.attrib[name] not in _SAYS_NOTHING:
                self.book.add(f"{name[:40]} of {of}", self.where)


def _default_of(node: "Element", functions: list["Element"], attribute: str) -> str | None:
    """Return the default that counts: the initial function's, the channel's, or the first."""
    initial = node.get("InitialFunction", "").partition(".")[2]
    for function in functions:
        if f"{attribute}.{function.get('Name')}" == initial and "Default" in function.attrib:
            return function.get("Default")
    own = node.get("Default")
    return own if own is not None or not functions else functions[0].get("Default")


def _widest(channel: "Element") -> int:
    """Return a width for a virtual channel that every value of it fits."""
    return max(
        size_of(element.get(name, ""))
        for element in channel.iter()
        for name in ("Default", "DMXFrom", "Highlight")
    )
