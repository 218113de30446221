"""One fixture of a rig as its XML says it (MVR 1.6, DIN SPEC 15801, Tables 25, 26, 50 and 51).

Read here and not by pymvr, which opens a rig in twice the time and goes its own ways with odd
values; the tests show each of them beside what is read here:

- An address of 0, an empty one and "1.600" are not patched; pymvr gives universe 1 address 1.
- A number that cannot be read is told; pymvr stops, or takes it for 0.
- A node that is not known is counted; pymvr drops it.
- A GDTFSpec beyond ASCII is the name that it is; pymvr gives it in another encoding.
"""

from typing import TYPE_CHECKING, NamedTuple

from showvault.interchange.exact_numbers import WHOLE
from showvault.interchange.loss_book import LossBook

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

HIGHEST_UNIVERSE = 63_999
"""ANSI E1.31."""
LAST_ADDRESS = 512
"""ANSI E1.11; MVR Table 51."""

_TEXTS = frozenset(
    {
        *("Classing", "GDTFSpec", "GDTFMode", "DMXInvertPan", "DMXInvertTilt", "Position"),
        *("Function", "FixtureID", "Matrix", "Color"),
    }
)
_NUMBERS = frozenset({"FixtureIDNumeric", "UnitNumber", "CustomId", "CustomIdType"})
_EMPTY_OR_USUAL = frozenset({"CastShadow", "Protocols", "Alignments", "CustomCommands"})
_LONGEST = 80


class RawAddress(NamedTuple):
    """One start address as the file gives it: breaks as written, universes from 1."""

    break_: int
    universe: int
    address: int


class RawFixture(NamedTuple):
    """A fixture as the file gives it."""

    where: str
    """What it is called in a report of losses."""
    uuid: str
    multipatch: str
    """The uuid of its parent; empty for a fixture of its own."""
    name: str
    layer: str
    texts: dict[str, str]
    """What stands in its nodes, by their tag; a number is one, and nothing is empty."""
    addresses: list[RawAddress]

    def text(self, tag: str) -> str:
        """Return the text of a node, empty where there is none."""
        return self.texts.get(tag, "")

    def number(self, tag: str) -> int:
        """Return the number of a node; 0 where there is none, as MVR itself says it."""
        return int(self.texts.get(tag, "0"))

    def is_true(self, tag: str) -> bool:
        """Tell whether a node says yes."""
        return self.texts.get(tag, "").lower() in ("true", "1")


def read_fixture(node: "Element", layer: str, book: LossBook) -> RawFixture:
    """Return what a fixture node says; what is not carried goes into the book."""
    name, uuid = node.get("name", ""), node.get("uuid", "")
    where = f"fixture {name or uuid or 'without a name'}"[:_LONGEST]
    texts: dict[str, str] = {}
    addresses: list[RawAddress] = []
    for child in node:
        tag = child.tag
        if tag == "Addresses":
            addresses += read_addresses(child, book, where)
        elif tag == "ChildList":
            continue
        elif tag in _TEXTS or tag in _NUMBERS:
            text = (child.text or "").strip()
            if not text:
                continue
            if tag in texts:
                book.add(f"{tag} that stands twice in a fixture", where)
            elif tag in _NUMBERS and not WHOLE.fullmatch(text):
                book.add(f"{tag} that is no number", f"{where}: {text[:40]}")
            else:
                texts[tag] = text
        elif len(child) or (tag not in _EMPTY_OR_USUAL and (child.text or "").strip()):
            book.add(f"{tag[:40]} of fixtures", where)
    return RawFixture(where, uuid, node.get("multipatch", ""), name, layer, texts, addresses)


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
        if place is None or not WHOLE.fullmatch(break_):
            book.add("addresses that cannot be", f"{where}: {text[:40]}")
        else:
            found.append(RawAddress(int(break_), *place))
    return found


def parse_address(text: str) -> tuple[int, int] | None:
    """Return universe and address of an MVR address: 513 is (2, 1); None where it cannot be."""
    universe_text, dot, address_text = text.partition(".")
    if not dot:
        if not WHOLE.fullmatch(text):
            return None
        universe, address = divmod(int(text) - 1, LAST_ADDRESS)
        universe, address = universe + 1, address + 1
    elif WHOLE.fullmatch(universe_text) and WHOLE.fullmatch(address_text):
        universe, address = int(universe_text), int(address_text)
    else:
        return None
    good = 1 <= universe <= HIGHEST_UNIVERSE and 1 <= address <= LAST_ADDRESS
    return (universe, address) if good else None
