"""A fixture type file (GDTF 1.2, DIN SPEC 15800) as a fixture type of the neutral show.

- Slots are most significant first; "None" is a virtual channel (Table 58).
- A geometry that is referred to several times gives cells, in the order of the references; so does
  an attribute that stands on several geometries of one mode.
- Defaults, highlights and the limits of functions become percents of the channel's range.
"""

import io
import re
from collections import Counter
from collections.abc import Collection, Iterator
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from showvault.interchange.archives import open_archive
from showvault.interchange.gdtf_mending import mend_fixture_type
from showvault.interchange.loss_book import LossBook
from showvault.interchange.reader import CannotReadError
from showvault.interchange.safe_xml import parse_xml
from showvault.show.trees import Tree

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

LARGEST_DESCRIPTION = 32 * 1024 * 1024

_UNITS = {
    "Percent": "%",
    "Length": "m",
    "Mass": "kg",
    "Time": "s",
    "Temperature": "K",
    "LuminousIntensity": "cd",
    "Angle": "deg",
    "Frequency": "Hz",
    "Speed": "m/s",
    "Acceleration": "m/s²",
    "AngularSpeed": "deg/s",
    "AngularAcc": "deg/s²",
    "WaveLength": "nm",
}
"""GDTF Table 7 and Annex B name the quantities; the units are SI, degrees for angles."""
_HAZARDS = (
    ("moving", re.compile(r"pan|tilt|panrotate|tiltrotate|xyz_[xyz]|rot_[xyz]")),
    ("strobe", re.compile(r"shutter\d*strobe\w*|strobe\w*|irisstrobe\w*")),
    ("fog", re.compile(r"fog\d*")),
    ("haze", re.compile(r"haze\d*")),
    ("uv", re.compile(r"coloradd_uv")),
)
_MOST_SLOTS = 3
"""The neutral show sends a channel in at most three slots."""


def read_fixture_type(
    data: bytes, wanted: Collection[str] | None, book: LossBook, where: str
) -> dict[str, Tree]:
    """Return a fixture type with the wanted modes, all of them for None.

    Raises CannotReadError for a file that is no fixture type at all.
    """
    description = open_archive(data).read("description.xml", LARGEST_DESCRIPTION)
    root = parse_xml(description, f"{where} (description.xml)", "GDTF")
    node = root.find("FixtureType")
    if node is None:
        raise CannotReadError(f"{where} holds no FixtureType")
    references = mend_fixture_type(node, wanted, book, where)
    library = _read_with_library(root, where)
    units = {a.name: _UNITS.get(str(a.physical_unit)) for a in library.attributes}
    modes = {
        mode.name: _Layout(units, book, f"{where} mode {mode.name}").mode(
            mode, references[mode.name]
        )
        for mode in library.dmx_modes
        if mode.name in references
    }
    name = " ".join(filter(None, (library.manufacturer, library.long_name or library.name)))
    made: dict[str, Tree] = {"name": name} if name else {}
    hazards = _hazards_of(modes)
    if hazards:
        made["hazards"] = hazards
    return made | {"modes": modes}


def _read_with_library(root: "Element", where: str) -> Any:
    """Let pygdtf read the mended XML; whatever it raises, the file is told, never a traceback."""
    from xml.etree.ElementTree import tostring

    import pygdtf

    try:
        return pygdtf.FixtureType(dsc_file=io.BytesIO(tostring(root)))
    except Exception as error:
        raise CannotReadError(f"{where} cannot be read: {type(error).__name__}: {error}") from None


class _Layout:
    """Lays the channels of one mode out into channels and cells."""

    def __init__(self, units: dict[str, str | None], book: LossBook, where: str) -> None:
        self.units = units
        self.book = book
        self.where = where

    def mode(self, mode: Any, references: list[str]) -> dict[str, Tree]:
        channels = [c for c in (*mode.dmx_channels, *mode.virtual_channels) if not _filled_in(c)]
        repeated = references if len(references) > 1 else []
        cells = {name: str(n) for n, name in enumerate(repeated, 1)}
        several = _on_several_geometries([c for c in channels if c.geometry not in cells])
        for channel in channels:
            if channel.geometry not in cells and str(channel.attribute) in several:
                cells[channel.geometry] = str(len(cells) + 1)
        made: dict[str, list[Tree]] = {}
        for channel in channels:
            place = made.setdefault(cells.get(channel.geometry, ""), [])
            if any(other["attribute"] == str(channel.attribute) for other in place):
                self.book.add("channels of an attribute that is there already", self.where)
            else:
                place.append(self.channel(channel))
        laid: dict[str, Tree] = {"channels": made.pop("")} if "" in made else {}
        if made:
            laid["cells"] = {cell: {"channels": found} for cell, found in made.items()}
        return laid

    def channel(self, channel: Any) -> dict[str, Tree]:
        offset = list(channel.offset or [])
        steps = 256 ** (len(offset) or channel.default.byte_count) - 1
        logical = channel.logical_channels[0]
        self.book.add("further uses of one channel", self.where, len(channel.logical_channels) - 1)
        made: dict[str, Tree] = {"attribute": str(channel.attribute)}
        made["slots"] = offset[:_MOST_SLOTS]
        self.book.add("fourth slots", self.where, max(0, len(offset) - _MOST_SLOTS))
        if channel.default.value:
            made["default"] = _percent(channel.default.value, steps)
        if channel.highlight is not None:
            made["highlight"] = _percent(channel.highlight.value, steps)
        if str(logical.snap) in ("Yes", "On"):
            made["snap"] = True
        if channel.dmx_break != 1:
            made["break"] = channel.dmx_break
        functions = sorted(logical.channel_functions, key=lambda f: int(f.dmx_from.value))
        return made | self.functions(functions, steps, str(channel.attribute))

    def functions(self, functions: list[Any], steps: int, attribute: str) -> dict[str, Tree]:
        made: dict[str, Tree] = {}
        unit = self.units.get(attribute)
        if len(functions) == 1:
            physical = _physical(functions[0])
            if physical is not None:
                made["range"] = physical
                if unit:
                    made["unit"] = unit
            return made
        ends = [f.dmx_from.value for f in functions[1:]]
        listed = []
        for function, end in zip(functions, [*ends, None], strict=True):
            entry: dict[str, Tree] = {}
            if function.custom_name or function.name:
                entry["name"] = function.custom_name or function.name
            entry["from"] = _percent(function.dmx_from.value, steps)
            entry["to"] = 100 if end is None else _percent(end, steps)
            physical = _physical(function)
            if physical is not None:
                entry["physical"] = physical
                own = self.units.get(str(function.attribute), unit)
                if own:
                    entry["unit"] = own
            listed.append(entry)
        return {"functions": listed} if listed else {}


def _filled_in(channel: Any) -> bool:
    """Tell a channel that pygdtf made up where a faulty file leaves a slot out."""
    return bool(channel.name == "NoFeature")


def _on_several_geometries(channels: list[Any]) -> set[str]:
    pairs = {(str(channel.attribute), channel.geometry) for channel in channels}
    counted = Counter(attribute for attribute, _ in pairs)
    return {attribute for attribute, count in counted.items() if count > 1}


def _percent(value: int, steps: int) -> int | Decimal:
    exact = Decimal(value * 100) / steps
    return int(exact) if exact == int(exact) else round(exact, 6).normalize()


def _physical(function: Any) -> list[int | Decimal] | None:
    """Return the physical values of a function; 0 to 1 is what stands where nothing is said."""
    values = (function.physical_from.value, function.physical_to.value)
    return None if values == (0, 1) else [_plain(value) for value in values]


def _plain(value: float) -> int | Decimal:
    number = round(Decimal(repr(float(value))), 6)
    return int(number) if number == int(number) else number.normalize()


def _hazards_of(modes: dict[str, Tree]) -> list[str]:
    attributes = {
        channel["attribute"].lower() for mode in modes.values() for channel in _all_channels(mode)
    }
    return [
        hazard
        for hazard, pattern in _HAZARDS
        if any(pattern.fullmatch(attribute) for attribute in attributes)
    ]


def _all_channels(mode: Tree) -> Iterator[dict[str, Tree]]:
    yield from mode.get("channels", [])
    for cell in mode.get("cells", {}).values():
        yield from cell["channels"]
