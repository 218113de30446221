"""The patch of a show as a rig exchange archive (MVR 1.6, DIN SPEC 15801): same show, same bytes.

The scene is built with pymvr; the archive is packed here, with no clock in it. The fixture type
files are not the show's to give: the archive names them and does not hold them.
"""

import io
import uuid
import zipfile
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from showvault.interchange.aside import Aside
from showvault.interchange.loss_book import LossBook
from showvault.interchange.mvr_reading import SCENE_FILE, UNKNOWN_TYPE
from showvault.interchange.reader import WriteResult
from showvault.show.addressing import place_order
from showvault.show.trees import Tree

_NAMES = uuid.UUID("5a0c3f0e-6f9b-4c55-9d2e-6f0b4c1f7a11")
"""The name space of the uuids that are made here, so that the same thing always has the same."""
_CARRIED = {
    "type",
    "mode",
    "name",
    "addresses",
    "position",
    "unit_number",
    "purpose",
    "invert",
    "extra",
}
_ASIDE = {"uuid", "matrix", "layer", "class", "fixture_id", "color"}
_FIRST_DAY = (1980, 1, 1, 0, 0, 0)


def write_rig(show: Tree) -> WriteResult:
    """Return an archive with every fixture of the patch, and what a rig cannot hold."""
    book = LossBook()
    patch = show.get("patch", {})
    scene = _Scene(book, patch)
    for key in sorted(patch, key=place_order):
        scene.add(key, patch[key])
    for name in sorted(show.keys() - {"format", "format_version", "patch", "fixture_types"}):
        held = show[name]
        book.add(
            name.replace("_", " "), "the show", len(held) if isinstance(held, dict | list) else 1
        )
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
        self.layers: dict[str, list[Any]] = {}
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

    def addresses(self, fixture: Mapping[str, Tree], words: str) -> list[list[Any]]:
        """Return the addresses in rows in which each break stands once (MVR Table 50)."""
        import pymvr

        rows: list[list[Any]] = [[]]
        for address in fixture.get("addresses", []):
            self.aside.count_others(address, {"universe", "address", "break"}, "addresses", words)
            made = pymvr.Address(
                dmx_break=address.get("break", 1) - self.shift,
                universe=address["universe"],
                address=address["address"],
            )
            if any(other.dmx_break == made.dmx_break for other in rows[-1]):
                rows.append([])
            rows[-1].append(made)
        return rows

    def fixture(
        self,
        key: str,
        fixture: Mapping[str, Tree],
        aside: Mapping[str, Tree],
        words: str,
        uid: str,
        addresses: list[Any],
    ) -> Any:
        import pymvr

        invert = set(fixture.get("invert", []))
        others = len(invert - {"Pan", "Tilt"})
        self.book.add("inverted attributes other than Pan and Tilt", words, others)
        matrix, color = _numbers(aside.get("matrix"), 12), _numbers(aside.get("color"), 3)
        return pymvr.Fixture(
            name=self.text(fixture.get("name", ""), words),
            uuid=uid,
            gdtf_spec=self.spec(fixture, words),
            gdtf_mode=self.text(fixture["mode"], words),
            matrix=pymvr.Matrix(matrix) if matrix else None,
            color=pymvr.Color(str_repr=color) if color else None,
            fixture_id=self.text(aside.get("fixture_id", key), words),
            fixture_id_numeric=int(key),
            unit_number=self.unit_number(fixture.get("unit_number"), words),
            position=self.named(self.positions, "position", fixture.get("position"), words),
            classing=self.named(self.classes, "class", aside.get("class"), words),
            function_=self.text(fixture.get("purpose", ""), words) or None,
            dmx_invert_pan="Pan" in invert,
            dmx_invert_tilt="Tilt" in invert,
            addresses=pymvr.Addresses(addresses=addresses),
        )

    def further(
        self, name: str, fixture: Mapping[str, Tree], words: str, parent: str, addresses: list[Any]
    ) -> Any:
        """Return a multipatch fixture: one more address of the same thing (MVR Table 25)."""
        import pymvr

        return pymvr.Fixture(
            name=self.text(fixture.get("name", ""), words),
            uuid=str(uuid.uuid5(_NAMES, name)),
            multipatch=parent,
            gdtf_spec=self.spec(fixture, words),
            gdtf_mode=self.text(fixture["mode"], words),
            addresses=pymvr.Addresses(addresses=addresses),
        )

    def spec(self, fixture: Mapping[str, Tree], words: str) -> str | None:
        kind = self.text(fixture["type"], words)
        return None if kind == UNKNOWN_TYPE else f"{kind}.gdtf"

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
        if not isinstance(name, str) or not name:
            return None
        plain = self.text(name, words)
        return names.setdefault(plain, str(uuid.uuid5(_NAMES, f"{kind} {plain}")))

    def text(self, text: Tree, words: str) -> str:
        """Return a text without the characters that XML has no place for (XML 1.0, 2.2)."""
        plain = "".join(char if _may_stand(char) else "?" for char in str(text))
        self.book.add("characters that XML has no place for", words, int(plain != text))
        return plain

    def xml(self) -> bytes:
        """Return the scene description."""
        from xml.etree import ElementTree

        import pymvr

        layers = [
            pymvr.Layer(
                name=name,
                uuid=str(uuid.uuid5(_NAMES, f"layer {name}")),
                child_list=pymvr.ChildList(fixtures=fixtures),
            )
            for name, fixtures in self.layers.items()
        ]
        aux_data = pymvr.AUXData(
            classes=[pymvr.Class(uuid=uid, name=name) for name, uid in self.classes.items()],
            positions=[pymvr.Position(uuid=uid, name=name) for name, uid in self.positions.items()],
        )
        writer = pymvr.GeneralSceneDescriptionWriter()
        writer.xml_root.set("provider", "showvault")
        writer.xml_root.set("providerVersion", "1")
        writer.serialize_scene(pymvr.Scene(layers=pymvr.Layers(layers), aux_data=aux_data))
        ElementTree.indent(writer.xml_root)
        written: bytes = ElementTree.tostring(
            writer.xml_root, encoding="UTF-8", xml_declaration=True
        )
        return written


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


def _numbers(held: Tree, count: int) -> Any:
    """Return numbers that were kept aside, as the library wants them; None for anything else."""
    if not (isinstance(held, list) and len(held) == count):
        return None
    if not all(isinstance(n, int | Decimal) and not isinstance(n, bool) for n in held):
        return None
    floats = [float(number) for number in held]
    if count == 3:
        return ",".join(map(repr, floats))
    return [[*floats[row : row + 3], 0] for row in range(0, 12, 3)]


def _may_stand(char: str) -> bool:
    if char < " ":
        return char in "\t\n\r"
    return not ("\ud800" <= char <= "\udfff" or char in "\ufffe\uffff")
