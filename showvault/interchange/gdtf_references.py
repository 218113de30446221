"""Where the channels of a mode stand once its geometry references are laid out (GDTF 49, 58).

A reference repeats the channels of another geometry: each repeated channel stands on the reference,
moved by the offset that the reference gives for its break; a channel whose break is "Overwrite"
takes the reference's last break (pygdtf 1.4.5 loses reference and break of such channels).
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from showvault.interchange.allowance import Allowance
from showvault.interchange.exact_numbers import is_up_to
from showvault.interchange.gdtf_channels import RawChannel
from showvault.interchange.gdtf_values import LARGEST_BREAK, LARGEST_OFFSET
from showvault.interchange.loss_book import LossBook

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element


@dataclass(frozen=True, slots=True)
class PlacedChannel:
    """A channel in its place."""

    raw: RawChannel
    geometry: str
    """The geometry or reference it stands on."""
    break_: int
    slots: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Reference:
    """A place at which the channels of another geometry are repeated."""

    name: str
    geometry: str
    breaks: tuple[tuple[int, int], ...]
    """Break and the offset that its channels are moved to, as listed."""


@dataclass(frozen=True)
class Geometry:
    """A geometry at the top, with everything below it."""

    names: frozenset[str]
    references: tuple[Reference, ...]


def read_geometries(fixture_type: "Element", book: LossBook, where: str) -> dict[str, Geometry]:
    """Return the geometries at the top by their names, in the order of the file."""
    return {
        top.get("Name", ""): Geometry(
            frozenset(node.get("Name", "") for node in top.iter() if node.tag != "Break"),
            tuple(_reference(node, book, where) for node in top.iter("GeometryReference")),
        )
        for top in fixture_type.iterfind("Geometries/*")
    }


def lay_out(
    channels: Sequence[RawChannel],
    tops: Mapping[str, Geometry],
    top_name: str,
    book: LossBook,
    where: str,
    allowance: Allowance,
) -> tuple[list[PlacedChannel], list[str]]:
    """Return the channels in their places, by break and slot, and the names of the references.

    Raises TooLargeError for more channels than any rig has.
    """
    top = tops.get(top_name) or next(iter(tops.values()), Geometry(frozenset(), ()))
    cost = sum(1 + len(channel.content.get("functions", ())) for channel in channels)
    allowance.take_channels(cost * (len(top.references) + 1), where)
    placed = [
        _placed(c, c.geometry, None, book, where) for c in channels if c.geometry in top.names
    ]
    repeated: set[str] = set()
    for reference in top.references:
        below = tops[reference.geometry].names if reference.geometry in tops else frozenset()
        repeated |= below
        placed += _repeated(channels, below, reference, book, where)
    lost = sum(channel.geometry not in top.names | repeated for channel in channels)
    book.add("channels on a geometry that is not there", where, lost)
    placed.sort(key=lambda channel: (not channel.slots, channel.break_, channel.slots[:1]))
    return placed, list(dict.fromkeys(reference.name for reference in top.references))


def _repeated(
    channels: Sequence[RawChannel],
    geometries: frozenset[str],
    reference: Reference,
    book: LossBook,
    where: str,
) -> Iterator[PlacedChannel]:
    for channel in channels:
        if channel.geometry in geometries:
            yield _placed(channel, reference.name, reference, book, where)


def _placed(
    channel: RawChannel, geometry: str, reference: Reference | None, book: LossBook, where: str
) -> PlacedChannel:
    breaks = reference.breaks if reference is not None else ()
    if channel.break_ is None:  # only a reference can overwrite it
        break_, offset = breaks[-1] if breaks else (1, 1)
    else:
        break_, offset = channel.break_, dict(breaks).get(channel.break_, 1)
    slots = tuple(slot + offset - 1 for slot in channel.offset)
    if slots and max(slots) > LARGEST_OFFSET:
        book.add("channels that a reference moves beyond a universe", where)
        slots = ()
    return PlacedChannel(channel, geometry, break_, slots)


def _reference(node: "Element", book: LossBook, where: str) -> Reference:
    return Reference(
        node.get("Name", ""),
        node.get("Geometry", ""),
        tuple(_break(inner, book, where) for inner in node.iter("Break")),
    )


def _break(node: "Element", book: LossBook, where: str) -> tuple[int, int]:
    break_, offset = node.get("DMXBreak", "1"), node.get("DMXOffset", "1")
    if not is_up_to(break_, LARGEST_BREAK):
        book.add("breaks that cannot be", where)
        break_ = "1"
    if not is_up_to(offset, LARGEST_OFFSET):
        book.add("offsets of cells that cannot be", where)
        offset = "1"
    return int(break_), int(offset)
