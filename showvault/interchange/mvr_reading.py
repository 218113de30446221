"""A rig exchange archive (MVR 1.6, DIN SPEC 15801) as the patch and fixture types of a show.

- A fixture's number is its FixtureIDNumeric, else a whole FixtureID, else its CustomId; whoever has
  none, or one that is taken, gets the next free number, and that is told.
- MVR counts breaks from 0 and GDTF from 1, and neither says how they meet: where a file has a
  break 0, its breaks are counted up by one (real files write 0, 1, 2, 3 for 1, 2, 3, 4).
- A multipatch fixture is a further address of its parent (Table 25).
- What only a rig has (uuid, place in space, class, layer) is carried in ``extra``.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from showvault.interchange.archives import Archive, open_archive
from showvault.interchange.fixture_types import read_fixture_type
from showvault.interchange.loss_book import LossBook
from showvault.interchange.mvr_mending import MendedNode, RawAddress, mend_fixture
from showvault.interchange.reader import CannotReadError, ReadResult
from showvault.interchange.safe_xml import parse_xml
from showvault.show.trees import Tree

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

SCENE_FILE = "GeneralSceneDescription.xml"
LARGEST_SCENE = 64 * 1024 * 1024
UNKNOWN_TYPE = "unknown"
_IDENTITY = (1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0)
_WHITE = (0.3127, 0.329, 100.0)
"""What pymvr writes where a fixture has no place or colour of its own."""
_FARTHEST = 1e12
_HIGHEST_NUMBER = 999_999_999
_HAZARD_OF_ID_TYPE = {4: "house", 5: "non_dim", 7: "fog", 9: "pyrotechnic"}
"""CustomIdType, in the list after MVR Table 26."""


def read_rig(data: bytes, wanted_modes: str) -> ReadResult:
    """Return the rig as a show; ``wanted_modes`` is "used" or "all".

    Raises CannotReadError for an archive that is unsafe or holds no scene.
    """
    archive = open_archive(data)
    book = LossBook()
    root = parse_xml(archive.read(SCENE_FILE, LARGEST_SCENE), SCENE_FILE, "GeneralSceneDescription")
    rig = _Rig(book, _names(root, "Position"), _names(root, "Class"))
    rig.take_scene(root)
    show: dict[str, Tree] = {"format": "neutral-show", "format_version": 1}
    if rig.patch:
        show["fixture_types"] = _fixture_types(archive, rig, wanted_modes, book)
        show["patch"] = rig.patch
    return ReadResult(show, book.losses(), tuple(rig.notes()))


@dataclass
class _Rig:
    """The patch as far as it is read."""

    book: LossBook
    positions: dict[str, str]
    classes: dict[str, str]
    patch: dict[str, Tree] = field(default_factory=dict)
    by_uuid: dict[str, dict[str, Tree]] = field(default_factory=dict)
    modes: dict[str, set[str]] = field(default_factory=dict)
    """The modes in use, by fixture type."""
    hazards: dict[str, set[str]] = field(default_factory=dict)
    without_number: list[tuple[dict[str, Tree], str]] = field(default_factory=list)
    numbered: int = 0
    shift: int = 0
    """What a break of the file is counted up by."""

    def take_scene(self, root: "Element") -> None:
        found = []
        for node, layer in _fixtures(root, self.book):
            where = f"fixture {node.get('name') or node.get('uuid') or 'without a name'}"[:80]
            found.append((node, mend_fixture(node, self.book, where), layer, where))
        if any(address.break_ == 0 for _, mended, _, _ in found for address in mended.addresses):
            self.shift = 1
        for node, mended, layer, where in found:
            if not node.get("multipatch"):
                self.take(node, mended, layer, where)
        for node, mended, _, where in found:
            if node.get("multipatch"):
                self.add_addresses(node.get("multipatch", ""), mended, where)
        self.give_numbers()

    def give_numbers(self) -> None:
        highest = max(map(int, self.patch), default=0)
        for fixture, where in self.without_number:
            highest += 1
            if highest > _HIGHEST_NUMBER:
                self.book.add("fixtures without a number", where)
                continue
            self.patch[str(highest)] = fixture
            self.numbered += 1

    def take(self, node: "Element", mended: MendedNode, layer: str, where: str) -> None:
        import pymvr

        read = pymvr.Fixture(xml_node=mended.node, uuid="")  # else it makes one up
        number = _number_of(read)
        fixture = self.fixture(read, mended)
        aside = {
            "uuid": node.get("uuid"),
            "layer": layer,
            "class": self.classes.get(read.classing or ""),
            "fixture_id": None if read.fixture_id in (number, "0") else read.fixture_id,
            "matrix": self.numbers(node.findtext("Matrix"), _IDENTITY, where),
            "color": self.numbers(node.findtext("Color"), _WHITE, where),
        }
        kept = {name: value for name, value in aside.items() if value}
        if kept:
            fixture["extra"] = {"mvr": kept}
        if node.get("uuid"):
            self.by_uuid[node.get("uuid", "")] = fixture
        if number is None:
            self.without_number.append((fixture, where))
        elif number in self.patch:
            self.book.add("fixture numbers that are taken: a new one is given", where)
            self.without_number.append((fixture, where))
        else:
            self.patch[number] = fixture
        hazard = _HAZARD_OF_ID_TYPE.get(read.custom_id_type or 0)
        if hazard:
            self.hazards.setdefault(fixture["type"], set()).add(hazard)

    def fixture(self, read: Any, mended: MendedNode) -> dict[str, Tree]:
        kind = _type_name(mended.spec)
        mode = read.gdtf_mode or ""
        self.modes.setdefault(kind, set()).add(mode)
        made: dict[str, Tree] = {"type": kind, "mode": mode}
        if read.name:
            made["name"] = read.name
        addresses = self.addresses(mended.addresses)
        if addresses:
            made["addresses"] = addresses
        position = self.positions.get(read.position or "")
        for name, value in (
            ("position", position),
            ("unit_number", str(read.unit_number) if read.unit_number else ""),  # 0: none
            ("purpose", read.function_),
        ):
            if value:
                made[name] = value
        inverted = {"Pan": read.dmx_invert_pan, "Tilt": read.dmx_invert_tilt}
        invert = [attribute for attribute, is_inverted in inverted.items() if is_inverted]
        if invert:
            made["invert"] = invert
        return made

    def numbers(
        self, text: str | None, usual: tuple[float, ...], where: str
    ) -> list[int | Decimal] | None:
        """Return the numbers of a matrix or colour; None for the usual ones, which say nothing."""
        if text is None or not text.strip():
            return None
        words = text.replace("{", " ").replace("}", " ").replace(",", " ").split()
        numbers = [plain_number(word) for word in words[:16]]
        good = [number for number in numbers if number is not None]
        if len(good) != len(usual) or len(words) != len(usual):
            self.book.add("places or colours that cannot be read", where)
            return None
        return None if tuple(map(float, good)) == usual else good

    def addresses(self, raw: tuple[RawAddress, ...]) -> list[Tree]:
        made: list[Tree] = []
        for address in raw:
            place: dict[str, Tree] = {"universe": address.universe, "address": address.address}
            if address.break_ + self.shift != 1:
                place["break"] = address.break_ + self.shift
            made.append(place)
        return made

    def add_addresses(self, parent: str, mended: MendedNode, where: str) -> None:
        fixture = self.by_uuid.get(parent)
        if fixture is None:
            self.book.add("multipatch fixtures whose parent is not there", where)
            return
        added = self.addresses(mended.addresses)
        if added:
            fixture.setdefault("addresses", []).extend(added)

    def notes(self) -> Iterator[str]:
        if self.numbered:
            yield f"fixtures that were given a number, having none of their own: {self.numbered}"
        if self.shift:
            yield "breaks are counted from 0 in the rig and from 1 here"


def _fixture_types(
    archive: Archive, rig: _Rig, wanted_modes: str, book: LossBook
) -> dict[str, Tree]:
    types: dict[str, Tree] = {}
    for kind, modes in sorted(rig.modes.items()):
        hazards = rig.hazards.get(kind, set())
        made: dict[str, Tree] = {}
        try:
            made = _fixture_type(archive, kind, None if wanted_modes == "all" else modes, book)
        except CannotReadError as error:
            book.add("fixture types that cannot be read", f"{kind}: {error}")
        for mode in sorted(modes - made.get("modes", {}).keys()) if made else []:
            book.add("modes that the fixture type does not have", f"fixture type {kind}: {mode}")
        hazards |= set(made.get("hazards", []))
        types[kind] = made | ({"hazards": sorted(hazards)} if hazards else {})
    return types


def _fixture_type(
    archive: Archive, kind: str, modes: set[str] | None, book: LossBook
) -> dict[str, Tree]:
    for name in (f"{kind}.gdtf", kind):
        if archive.holds(name):
            return read_fixture_type(archive.read(name), modes, book, f"fixture type {kind}")
    book.add("fixture types that the archive does not hold", f"fixture type {kind}")
    return {}


def _fixtures(root: "Element", book: LossBook) -> Iterator[tuple["Element", str]]:
    """Yield every fixture with its layer, in the order of the file, wherever it hangs."""
    others: dict[str, int] = {}
    for layer in root.iterfind("Scene/Layers/Layer"):
        waiting = [layer]
        while waiting:
            node = waiting.pop()
            if node.tag == "Fixture":
                yield node, layer.get("name", "")
            elif node.tag not in ("Layer", "GroupObject"):
                others[node.tag] = others.get(node.tag, 0) + 1
            for children in reversed(node.findall("ChildList")):
                waiting.extend(reversed(children))
    for tag, count in sorted(others.items()):
        book.add(f"{tag[:40]} of the scene", "the rig", count)


def _names(root: "Element", tag: str) -> dict[str, str]:
    return {
        node.get("uuid", ""): node.get("name", "") for node in root.iterfind(f"Scene/AUXData/{tag}")
    }


def _type_name(spec: str) -> str:
    """Return a fixture type's name: its file without the ending, which real files leave out."""
    name = spec[:-5] if spec.lower().endswith(".gdtf") else spec
    return name or UNKNOWN_TYPE


@lru_cache(maxsize=8192)
def plain_number(text: str) -> int | Decimal | None:
    """Return a number as written, with at most 15 digits; None for what is none."""
    try:
        number = float(text)
    except ValueError:
        return None
    if not math.isfinite(number) or abs(number) > _FARTHEST:
        return None
    exact = Decimal(f"{number:.15g}")
    return int(exact) if exact == int(exact) else exact


def _number_of(read: Any) -> str | None:
    texts = (read.fixture_id_numeric, (read.fixture_id or "").strip(), read.custom_id)
    for text in map(str, texts):
        if text.isascii() and text.isdecimal() and 1 <= int(text[:12]) <= _HIGHEST_NUMBER:
            return str(int(text))
    return None
