"""The geometry references of a fixture type (GDTF Tables 49, 58), written out as channels.

A reference repeats the channels of another geometry: each repeated channel stands on the reference,
moved by the offset that the reference gives for its break; a channel whose break is "Overwrite"
takes the reference's last break. pygdtf 1.4.5 loses reference and break of such channels, so they
are written out before it reads the file.
"""

import copy
from typing import TYPE_CHECKING

from showvault.interchange.loss_book import LossBook
from showvault.interchange.reader import CannotReadError

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

LARGEST_OFFSET = 512
MOST_LAID_OUT = 65_536
"""Channels times references of a mode that are laid out; a large fixture has a few thousand."""


def write_out_references(
    fixture_type: "Element", book: LossBook, where: str
) -> dict[str, list[str]]:
    """Repeat the channels of every mode in place; return the names of its references, by mode.

    Raises CannotReadError for a mode with more channels than any fixture has.
    """
    tops = {node.get("Name", ""): node for node in fixture_type.iterfind("Geometries/*")}
    inside = {name: {n.get("Name", "") for n in top.iter()} for name, top in tops.items()}
    names = {}
    for mode in fixture_type.iterfind("DMXModes/DMXMode"):
        name = mode.get("Name", "")
        top = tops.get(mode.get("Geometry", ""))
        if top is None:
            top = next(iter(tops.values()), None)
        references = [] if top is None else list(top.iter("GeometryReference"))
        channels = mode.find("DMXChannels")
        if channels is None:
            continue
        if len(channels) * (len(references) + 1) > MOST_LAID_OUT:
            raise CannotReadError(f"{where} mode {name} has more channels than any fixture")
        by_geometry: dict[str, list[Element]] = {}
        for channel in channels:
            by_geometry.setdefault(channel.get("Geometry", ""), []).append(channel)
        own = set() if top is None else inside[top.get("Name", "")]
        laid = [c for c in channels if c.get("Geometry", "") in own]
        repeated: set[str] = set()
        for reference in references:
            geometries = inside.get(reference.get("Geometry", ""), set())
            repeated |= geometries
            for geometry in sorted(geometries & by_geometry.keys()):
                laid += [_moved(c, reference) for c in by_geometry[geometry]]
        for channel in channels:
            if channel.get("Geometry", "") not in own | repeated:
                book.add("channels on a geometry that is not there", f"{where} mode {name}")
        channels[:] = [_placed(channel, book, f"{where} mode {name}") for channel in laid]
        names[name] = list(dict.fromkeys(node.get("Name", "") for node in references))
    for node in list(fixture_type.iter("GeometryReference")):
        node.tag = "Geometry"
        node.attrib.pop("Geometry", None)
        node[:] = []
    return names


def _moved(channel: "Element", reference: "Element") -> "Element":
    moved = copy.deepcopy(channel)
    moved.set("Geometry", reference.get("Name", ""))
    breaks = [(b.get("DMXBreak", "1"), b.get("DMXOffset", "1")) for b in reference.iter("Break")]
    break_, offset = channel.get("DMXBreak", "1"), "1"
    if break_ == "Overwrite":
        break_, offset = breaks[-1] if breaks else ("1", "1")
        moved.set("DMXBreak", break_)
    else:
        offset = dict(breaks).get(break_, "1")
    slots = channel.get("Offset", "")
    if slots not in ("", "None"):
        by = int(offset) - 1
        moved.set("Offset", ",".join(str(int(slot) + by) for slot in slots.split(",")))
    return moved


def _placed(channel: "Element", book: LossBook, where: str) -> "Element":
    """Return a channel that has a break of its own and lies inside a universe."""
    if channel.get("DMXBreak") == "Overwrite":  # only a reference can overwrite it
        channel.set("DMXBreak", "1")
    slots = channel.get("Offset", "")
    if slots not in ("", "None") and max(map(int, slots.split(","))) > LARGEST_OFFSET:
        book.add("channels that a reference moves beyond a universe", where)
        channel.set("Offset", "None")
    return channel
