"""A fixture type file (GDTF 1.2, DIN SPEC 15800) as a fixture type of the neutral show.

A geometry that is referred to several times gives cells, in the order of the references; so does an
attribute that stands on several geometries of one mode.
"""

import re
from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from typing import TYPE_CHECKING

from showvault.interchange.allowance import Allowance
from showvault.interchange.archives import open_archive
from showvault.interchange.gdtf_channels import ChannelReader
from showvault.interchange.gdtf_references import (
    Geometry,
    PlacedChannel,
    lay_out,
    read_geometries,
)
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
_LONGEST_PLACE = 160
_CARRIED = {"AttributeDefinitions", "Geometries", "DMXModes"}
_OF_MODES = {"Relations": "relations", "FTMacros": "macros"}


def read_fixture_type(
    data: bytes,
    wanted: Collection[str] | None,
    book: LossBook,
    where: str,
    allowance: Allowance,
) -> dict[str, Tree]:
    """Return a fixture type with the wanted modes, all of them for None.

    Raises CannotReadError for a file that is no fixture type at all.
    """
    description = open_archive(data, allowance).read("description.xml", LARGEST_DESCRIPTION)
    root = parse_xml(description, f"{where} (description.xml)", "GDTF")
    node = root.find("FixtureType")
    if node is None:
        raise CannotReadError(f"{where} holds no FixtureType")
    for child in node:
        if child.tag not in _CARRIED:
            book.add("wheels, models, revisions and physical descriptions", where)
    units = _units(node)
    geometries = read_geometries(node, book, where)
    modes: dict[str, Tree] = {}
    for mode in node.iterfind("DMXModes/DMXMode"):
        name = mode.get("Name", "")
        if wanted is not None and name not in wanted:
            book.add("modes that no fixture uses", where)
        elif name in modes:
            book.add("modes whose name is taken", f"{where} mode {name}")
        else:
            place = f"{where} mode {name}"[:_LONGEST_PLACE]
            modes[name] = _mode(mode, units, geometries, book, place, allowance)
    name = " ".join(filter(None, (node.get("Manufacturer"), _name_of(node))))
    made: dict[str, Tree] = {"name": name} if name else {}
    hazards = _hazards_of(modes)
    if hazards:
        made["hazards"] = hazards
    return made | {"modes": modes}


def _name_of(fixture_type: "Element") -> str | None:
    return fixture_type.get("LongName") or fixture_type.get("Name")


def _units(fixture_type: "Element") -> dict[str, str]:
    """Return the unit of each attribute that has one (GDTF Table 7)."""
    return {
        node.get("Name", ""): _UNITS[node.get("PhysicalUnit", "")]
        for node in fixture_type.iterfind("AttributeDefinitions/Attributes/Attribute")
        if node.get("PhysicalUnit") in _UNITS
    }


def _mode(
    mode: "Element",
    units: dict[str, str],
    geometries: dict[str, Geometry],
    book: LossBook,
    where: str,
    allowance: Allowance,
) -> dict[str, Tree]:
    """Lay the channels of one mode out into channels and cells."""
    for tag, what in _OF_MODES.items():
        book.add(what, where, sum(map(len, mode.findall(tag))))
    raw = ChannelReader(units, book, where).read(mode)
    channels, references = lay_out(
        raw, geometries, mode.get("Geometry", ""), book, where, allowance
    )
    repeated = references if len(references) > 1 else []
    cells = {name: str(n) for n, name in enumerate(repeated, 1)}
    several = _on_several_geometries([c for c in channels if c.geometry not in cells])
    made: dict[str, dict[str, Tree]] = {}
    for channel in channels:
        attribute = channel.raw.attribute
        if channel.geometry not in cells and attribute in several:
            cells[channel.geometry] = str(len(cells) + 1)
        place = made.setdefault(cells.get(channel.geometry, ""), {})
        if attribute in place:
            book.add("channels of an attribute that is there already", where)
        else:
            place[attribute] = _channel(channel, book, where)
    laid = {cell: list(found.values()) for cell, found in made.items()}
    main: dict[str, Tree] = {"channels": laid.pop("")} if "" in laid else {}
    if laid:
        main["cells"] = {cell: {"channels": found} for cell, found in laid.items()}
    return main


def _channel(channel: PlacedChannel, book: LossBook, where: str) -> dict[str, Tree]:
    book.add("fourth slots", where, max(0, len(channel.slots) - _MOST_SLOTS))
    made = {"attribute": channel.raw.attribute, "slots": list(channel.slots[:_MOST_SLOTS])}
    return made | channel.raw.content | ({"break": channel.break_} if channel.break_ != 1 else {})


def _on_several_geometries(channels: Sequence[PlacedChannel]) -> set[str]:
    pairs = {(channel.raw.attribute, channel.geometry) for channel in channels}
    counted = Counter(attribute for attribute, _ in pairs)
    return {attribute for attribute, count in counted.items() if count > 1}


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
