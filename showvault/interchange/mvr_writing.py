"""The patch of a show as a rig exchange archive (MVR 1.6, DIN SPEC 15801): same show, same bytes.

Nodes stand in the order of the tables of the standard, and there is no clock in the archive. The
fixture type files are not the show's to give: the archive names them and does not hold them.
"""

import io
import uuid
import zipfile
from collections.abc import Mapping
from decimal import Decimal
from typing import TYPE_CHECKING

from showvault.interchange.aside import Aside, count_sections
from showvault.interchange.exact_numbers import plain_number
from showvault.interchange.loss_book import LossBook
from showvault.interchange.mvr_reading import SCENE_FILE, UNKNOWN_TYPE
from showvault.interchange.reader import WriteResult
from showvault.show.addressing import place_order
from showvault.show.trees import Tree

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

_NAMES = uuid.UUID("5a0c3f0e-6f9b-4c55-9d2e-6f0b4c1f7a11")
"""The name space of the uuids that are made here, so that the same thing always has the same."""
_CARRIED = {
    *("type", "mode", "name", "addresses", "position", "unit_number", "purpose", "invert"),
    "extra",
}
_ASIDE = {"uuid", "matrix", "layer", "class", "fixture_id", "color"}
_FIRST_DAY = (1980, 1, 1, 0, 0, 0)
_SLOTS = 512
_FARTHEST = 10**12
_MOST_PLACES = 15

_Row = list[tuple[int, int]]
"""Break as the file counts it, and absolute address, each break once."""


def write_rig(show: Tree) -> WriteResult:
    """Return an archive with every fixture of the patch, and what a rig cannot hold."""
    book = LossBook()
    patch = show.get("patch", {})
    scene = _Scene(book, patch)
    for key in sorted(patch, key=place_order):
        scene.add(key, patch[key])
    count_sections(show, {"format", "format_version", "patch", "fixture_types"}, book)
    book.add(
        "fixture type files: the archive names them and does not hold them",
        "the rig",
        len(show.get("fixture_types", {})),
    )
    return WriteResult(_pack(scene.xml()), book.losses())


class _Scene:
    """Layers, positions and classes, each made when the first fixture asks for it."""

    def __init__(self, book: LossBook, patch: Mapping[str, Tree]) -> None:
        self.book = book
        self.aside = Aside("mvr", book)
        self.layers: dict[str, list[Element]] = {}
        self.positions: dict[str, str] = {}
        self.classes: dict[str, str] = {}
        breaks = (a.get("break", 1) for f in patch.values() for a in f.get("addresses", []))
        self.shift = 1 if 1 in breaks else 0
        """MVR counts breaks from 0; mvr_reading tells that from a break 0 in the file."""

    def add(self, key: str, fixture: Mapping[str, Tree]) -> None:
        words = f"fixture {key}"
        self.aside.count_others(fixture, _CARRIED, "fixtures", words)
        aside = self.aside.take(fixture, words, _ASIDE)
        uid = _uuid_or(aside.get("uuid"), f"fixture {key}")
        rows = self.addresses(fixture, words)
        layer = self.layers.setdefault(self.text(aside.get("layer", ""), words), [])
        layer.append(self.fixture(key, fixture, aside, words, uid, rows[0]))
        layer.extend(
            self.further(f"fixture {key} address {count}", fixture, words, uid, row)
            for count, row in enumerate(rows[1:], 1)
        )

    def addresses(self, fixture: Mapping[str, Tree], words: str) -> list[_Row]:
        """Return the addresses in rows in which each break stands once (MVR Table 50)."""
        rows: list[_Row] = [[]]
        for address in fixture.get("addresses", []):
            self.aside.count_others(address, {"universe", "address", "break"}, "addresses", words)
            break_ = address.get("break", 1) - self.shift
            if any(other == break_ for other, _ in rows[-1]):
                rows.append([])
            rows[-1].append((break_, (address["universe"] - 1) * _SLOTS + address["address"]))
        return rows

    def fixture(
        self,
        key: str,
        fixture: Mapping[str, Tree],
        aside: Mapping[str, Tree],
        words: str,
        uid: str,
        addresses: _Row,
    ) -> "Element":
        self.book.add("empty texts", words, int(fixture.get("purpose") == ""))
        invert = set(fixture.get("invert", []))
        others = len(invert - {"Pan", "Tilt"})
        self.book.add("inverted attributes other than Pan and Tilt", words, others)
        nodes = {
            "Matrix": self.numbers(aside.get("matrix"), 12, words),
            "Classing": self.named(self.classes, "class", aside.get("class"), words),
            **self.type_nodes(fixture, words),
            **{f"DMXInvert{name}": "true" for name in ("Pan", "Tilt") if name in invert},
            "Position": self.named(self.positions, "position", fixture.get("position"), words),
            "Function": self.inner(fixture.get("purpose"), words),
            "FixtureID": self.inner(aside.get("fixture_id", key), words) or key,
            "FixtureIDNumeric": key,
            "UnitNumber": str(self.unit_number(fixture.get("unit_number"), words)),
        }
        name = self.text(fixture.get("name", ""), words)
        made = _fixture_node({"name": name, "uuid": uid}, nodes, addresses)
        color = self.numbers(aside.get("color"), 3, words)
        if color:
            _append(made, "Color", color)
        return made

    def further(
        self, name: str, fixture: Mapping[str, Tree], words: str, parent: str, addresses: _Row
    ) -> "Element":
        """Return a multipatch fixture: one more address of the same thing (MVR Table 25).

        It has no number of its own; a unit number is required of it all the same (Table 26).
        """
        attributes = {
            "name": self.text(fixture.get("name", ""), words),
            "uuid": str(uuid.uuid5(_NAMES, name)),
            "multipatch": parent,
        }
        nodes = {**self.type_nodes(fixture, words), "UnitNumber": "0"}
        return _fixture_node(attributes, nodes, addresses)

    def type_nodes(self, fixture: Mapping[str, Tree], words: str) -> dict[str, str | None]:
        """Return GDTFSpec and GDTFMode, which is required with it (MVR Table 26)."""
        spec = self.spec(fixture, words)
        mode = self.inner(fixture["mode"], words)
        return {"GDTFSpec": spec, "GDTFMode": mode or ("" if spec else None)}

    def spec(self, fixture: Mapping[str, Tree], words: str) -> str | None:
        kind = self.inner(fixture["type"], words)
        if kind is None:
            self.book.add("fixture types without a name", words)
        return None if kind in (None, UNKNOWN_TYPE) else f"{kind}.gdtf"

    def unit_number(self, text: str | None, words: str) -> int:
        """Return the unit number; 0 where there is none, for the format requires one."""
        if text is None:
            return 0
        if text.isascii() and text.isdecimal() and str(int(text[:9])) == text != "0":
            return int(text)
        self.book.add("unit numbers that are no whole number", words)
        return 0

    def named(self, names: dict[str, str], kind: str, name: Tree, words: str) -> str | None:
        """Return the uuid of a position or class, which is entered when it is new."""
        if name is not None and not isinstance(name, str):
            self.book.add("extra that is not understood", words)
            return None
        plain = self.text(name or "", words)
        self.book.add("empty texts", words, int(name == ""))
        if not plain:
            return None
        return names.setdefault(plain, str(uuid.uuid5(_NAMES, f"{kind} {plain}")))

    def text(self, text: Tree, words: str) -> str:
        """Return a text without the characters that XML has no place for (XML 1.0, 2.2)."""
        plain = "".join(char if _may_stand(char) else "?" for char in str(text))
        self.book.add("characters that XML has no place for", words, int(plain != text))
        return plain

    def inner(self, text: Tree, words: str) -> str | None:
        """Return what stands inside a node: no outer blanks, no carriage return (XML 1.0, 2.11)."""
        if text is None:
            return None
        plain = self.text(text, words)
        kept = plain.replace("\r", "?").strip()
        self.book.add("outer blanks and carriage returns of texts", words, int(kept != plain))
        return kept or None

    def numbers(self, held: Tree, count: int, words: str) -> str | None:
        """Return a place or colour that was kept aside as the format writes it (MVR Table 35)."""
        if held is None:
            return None
        numbers = [_spell(number) for number in held] if isinstance(held, list) else []
        if len(numbers) != count or None in numbers:
            self.book.add("places or colours that cannot be written", words)
            return None
        spelled = [str(number) for number in numbers]
        if count == 3:
            return ",".join(spelled)
        rows = (",".join(spelled[row : row + 3]) for row in range(0, 12, 3))
        return "".join(f"{{{row}}}" for row in rows)

    def xml(self) -> bytes:
        """Return the scene description (MVR Tables 2 and 6 to 18)."""
        from xml.etree import ElementTree

        root = ElementTree.Element(
            "GeneralSceneDescription",
            {"verMajor": "1", "verMinor": "6", "provider": "showvault", "providerVersion": "1"},
        )
        scene = ElementTree.SubElement(root, "Scene")
        aux_data = ElementTree.SubElement(scene, "AUXData")
        for tag, names in (("Class", self.classes), ("Position", self.positions)):
            for name, uid in names.items():
                ElementTree.SubElement(aux_data, tag, {"uuid": uid, "name": name})
        layers = ElementTree.SubElement(scene, "Layers")
        for name, fixtures in self.layers.items():
            uid = str(uuid.uuid5(_NAMES, f"layer {name}"))
            layer = ElementTree.SubElement(layers, "Layer", {"uuid": uid, "name": name})
            ElementTree.SubElement(layer, "ChildList").extend(fixtures)
        ElementTree.indent(root)
        written: bytes = ElementTree.tostring(root, encoding="UTF-8", xml_declaration=True)
        return written


def _fixture_node(
    attributes: dict[str, str], nodes: Mapping[str, str | None], addresses: _Row
) -> "Element":
    from xml.etree.ElementTree import Element, SubElement

    made = Element("Fixture", attributes)
    for tag, text in nodes.items():
        if text is not None:
            _append(made, tag, text)
    if addresses:
        holder = SubElement(made, "Addresses")
        for break_, address in addresses:
            _append(holder, "Address", str(address), {"break": str(break_)})
    return made


def _append(
    parent: "Element", tag: str, text: str, attributes: Mapping[str, str] | None = None
) -> None:
    from xml.etree.ElementTree import SubElement

    SubElement(parent, tag, dict(attributes or {})).text = text


def _pack(scene: bytes) -> bytes:
    target = io.BytesIO()
    info = zipfile.ZipInfo(SCENE_FILE, _FIRST_DAY)
    info.compress_type = zipfile.ZIP_DEFLATED
    info.create_system = 0  # the same bytes on every machine
    with zipfile.ZipFile(target, "w") as packed:
        packed.writestr(info, scene)
    return target.getvalue()


def _uuid_or(text: Tree, name: str) -> str:
    try:
        return str(uuid.UUID(str(text)))
    except ValueError:
        return str(uuid.uuid5(_NAMES, name))


def _spell(number: Tree) -> str | None:
    """Return a number that reads as the same one; None for what has too many digits, or is none."""
    if not isinstance(number, int | Decimal) or isinstance(number, bool):
        return None
    if abs(number) > _FARTHEST or Decimal(number).as_tuple().exponent < -_MOST_PLACES:  # type: ignore[operator]  # finite
        return None
    text = f"{Decimal(number):f}"
    return text if plain_number(text) == number else None


def _may_stand(char: str) -> bool:
    if char < " ":
        return char in "\t\n\r"
    return not ("\ud800" <= char <= "\udfff" or char in "\ufffe\uffff")
