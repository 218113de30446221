"""A fixture node of a rig (MVR 1.6, DIN SPEC 15801) made exact before the library reads it.

pymvr reads a node well where its values are good. What it does with others is met here, in one
place:

- An address of 0, an empty one and "1.600" become patched places: the addresses are read from the
  XML itself and taken out.
- An unreadable number ends the reading: it is taken out and told.
- Nodes it does not know are dropped in silence: they are counted.
- A GDTFSpec beyond ASCII comes out in another encoding: the name is read from the XML itself.
"""

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from showvault.interchange.loss_book import LossBook

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

HIGHEST_UNIVERSE = 63_999
"""ANSI E1.31."""
LAST_ADDRESS = 512
"""ANSI E1.11; MVR Table 51."""

_CARRIED = frozenset(
    {
        *("Classing", "GDTFSpec", "GDTFMode", "DMXInvertPan", "DMXInvertTilt", "Position"),
        *("Function", "FixtureID", "FixtureIDNumeric", "UnitNumber", "CustomIdType", "CustomId"),
    }
)
_READ_ELSEWHERE = frozenset({"ChildList", "Matrix", "Color"})
_EMPTY_OR_USUAL = frozenset({"CastShadow", "Protocols", "Alignments", "CustomCommands"})
_NUMBERS = ("FixtureIDNumeric", "UnitNumber", "CustomId", "CustomIdType")
_WHOLE = re.compile(r"\d{1,9}", re.ASCII)


@dataclass(frozen=True)
class RawAddress:
    """One start address as the file gives it: breaks as written, universes from 1."""

    break_: int
    universe: int
    address: int


@dataclass(frozen=True)
class MendedNode:
    """A fixture node that pymvr can read, and what was taken out of it."""

    node: "Element"
    addresses: tuple[RawAddress, ...]
    spec: str


def mend_fixture(node: "Element", book: LossBook, where: str) -> MendedNode:
    """Return a shallow copy of the node, mended; the node itself stays as it is."""
    from xml.etree.ElementTree import Element

    mended = Element(node.tag, node.attrib)
    addresses: list[RawAddress] = []
    spec = ""
    for child in node:
        text = (child.text or "").strip()
        if child.tag == "Addresses":
            addresses += read_addresses(child, book, where)
        elif child.tag == "GDTFSpec":
            spec = text
        elif child.tag in _NUMBERS and text and not _WHOLE.fullmatch(text):
            book.add(f"{child.tag} that is no number", f"{where}: {text[:40]}")
        elif child.tag in _CARRIED:
            mended.append(child)
        elif child.tag not in _READ_ELSEWHERE and (
            len(child) or (text and child.tag not in _EMPTY_OR_USUAL)
        ):
            book.add(f"{child.tag[:40]} of fixtures", where)
    return MendedNode(mended, tuple(addresses), spec)


def read_addresses(node: "Element", book: LossBook, where: str) -> list[RawAddress]:
    """Return the addresses of a fixture; 0 and an empty text say that it is not patched.

    A whole number counts through universes of 512; "2.17" is universe 2 address 17 (MVR Table 51).
    """
    found = []
    for child in node:
        if child.tag != "Address":
            book.add("network addresses of fixtures", where)
            continue
        text = (child.text or "").strip()
        if text in ("", "0"):
            continue
        place = parse_address(text)
        break_ = child.get("break", "0")
        if place is None or not _WHOLE.fullmatch(break_):
            book.add("addresses that cannot be", f"{where}: {text[:40]}")
        else:
            found.append(RawAddress(int(break_), *place))
    return found


def parse_address(text: str) -> tuple[int, int] | None:
    """Return universe and address of an MVR address: 513 is (2, 1); None where it cannot be."""
    universe_text, dot, address_text = text.partition(".")
    if not dot:
        if not _WHOLE.fullmatch(text):
            return None
        universe, address = divmod(int(text) - 1, LAST_ADDRESS)
        universe, address = universe + 1, address + 1
    elif _WHOLE.fullmatch(universe_text) and _WHOLE.fullmatch(address_text):
        universe, address = int(universe_text), int(address_text)
    else:
        return None
    good = 1 <= universe <= HIGHEST_UNIVERSE and 1 <= address <= LAST_ADDRESS
    return (universe, address) if good else None
