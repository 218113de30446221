"""A rig exchange archive (MVR 1.6, DIN SPEC 15801) as the patch and fixture types of a show.

- A fixture's number is its FixtureIDNumeric, else a whole FixtureID, else its CustomId; whoever has
  none, or one that is taken, gets the next free number, and that is told.
- MVR counts breaks from 0 and GDTF from 1, and neither says how they meet: where a file has a
  break 0, its breaks are counted up by one (real files write 0, 1, 2, 3 for 1, 2, 3, 4).
- A multipatch fixture is a further address of its parent (Table 25).
- What only a rig has (uuid, place in space, class, layer) is carried in ``extra``.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING

from showvault.interchange.allowance import Allowance, name_that_repeats
from showvault.interchange.archives import Archive, open_archive
from showvault.interchange.exact_numbers import WHOLE, plain_number
from showvault.interchange.fixture_types import read_fixture_type
from showvault.interchange.loss_book import LossBook
from showvault.interchange.mvr_fixtures import RawAddress, RawFixture, read_fixture
from showvault.interchange.reader import CannotReadError, ReadResult
from showvault.interchange.safe_xml import parse_xml
from showvault.show.trees import Tree

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

SCENE_FILE = "GeneralSceneDescription.xml"
LARGEST_SCENE = 64 * 1024 * 1024
UNKNOWN_TYPE = "unknown"
_IDENTITY: list[int | Decimal] = [1, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0]
_WHITE: list[int | Decimal] = [Decimal("0.3127"), Decimal("0.329"), 100]
"""What many programs write where a fixture has no place or colour of its own."""
_HIGHEST_NUMBER = 999_999_999
_OWN_OF_MULTIPATCH = frozenset({"Position", "Function", "UnitNumber", "Classing"})
_HAZARD_OF_ID_TYPE = {4: "house", 5: "non_dim", 7: "fog", 9: "pyrotechnic"}
"""CustomIdType, in the list after MVR Table 26."""


def read_rig(data: bytes, wanted_modes: str) -> ReadResult:
    """Return the rig as a show; ``wanted_modes`` is "used" or "all".

    Raises CannotReadError for an archive that is unsafe or holds no scene.
    """
    archive = open_archive(data, Allowance())
    book = LossBook()
    root = parse_xml(archive.read(SCENE_FILE, LARGEST_SCENE), SCENE_FILE, "GeneralSceneDescription")
    rig = _Rig(book, _names(root, "Position", book), _names(root, "Class", book))
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
        found = [read_fixture(node, layer, self.book) for node, layer in _fixtures(root, self.book)]
        if any(address.break_ == 0 for raw in found for address in raw.addresses):
            self.shift = 1
        for raw in found:
            if not raw.multipatch:
                self.take(raw)
        for raw in found:
            if raw.multipatch:
                self.add_addresses(raw)
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

    def take(self, raw: RawFixture) -> None:
        number = _number_of(raw)
        fixture = self.fixture(raw)
        fixture_id = raw.text("FixtureID")
        kept: dict[str, Tree] = {}
        if raw.uuid:
            kept["uuid"] = raw.uuid
        if raw.layer:
            kept["layer"] = raw.layer
        class_ = self.named(self.classes, raw, "Classing")
        if class_:
            kept["class"] = class_
        if fixture_id not in ("", "0", number):
            kept["fixture_id"] = fixture_id
        for tag, name, usual in (("Matrix", "matrix", _IDENTITY), ("Color", "color", _WHITE)):
            numbers = self.numbers(raw, tag, usual)
            if numbers:
                kept[name] = numbers
        if kept:
            fixture["extra"] = {"mvr": kept}
        if raw.uuid:
            self.by_uuid[raw.uuid] = fixture
        if number is None:
            self.without_number.append((fixture, raw.where))
        elif number in self.patch:
            self.book.add("fixture numbers that are taken: a new one is given", raw.where)
            self.without_number.append((fixture, raw.where))
        else:
            self.patch[number] = fixture
        hazard = _HAZARD_OF_ID_TYPE.get(raw.number("CustomIdType"))
        if hazard:
            self.hazards.setdefault(fixture["type"], set()).add(hazard)

    def fixture(self, raw: RawFixture) -> dict[str, Tree]:
        kind, mode = _type_name(raw.text("GDTFSpec")), raw.text("GDTFMode")
        self.modes.setdefault(kind, set()).add(mode)
        made: dict[str, Tree] = {"type": kind, "mode": mode}
        if raw.name:
            made["name"] = raw.name
        if raw.addresses:
            made["addresses"] = self.addresses(raw.addresses)
        position = self.named(self.positions, raw, "Position")
        if position:
            made["position"] = position
        unit_number = raw.number("UnitNumber")
        if unit_number:  # 0 stands for none
            made["unit_number"] = str(unit_number)
        if "Function" in raw.texts:
            made["purpose"] = raw.texts["Function"]
        invert = [name for name in ("Pan", "Tilt") if raw.is_true(f"DMXInvert{name}")]
        if invert:
            made["invert"] = invert
        return made

    def named(self, names: dict[str, str], raw: RawFixture, tag: str) -> str:
        """Return the name of the position or class that a fixture refers to."""
        uuid = raw.texts.get(tag)
        if uuid is None:
            return ""
        if uuid not in names:
            self.book.add(f"{tag} that the scene does not hold", raw.where)
        return names.get(uuid, "")

    def numbers(
        self, raw: RawFixture, tag: str, usual: list[int | Decimal]
    ) -> list[int | Decimal] | None:
        """Return the numbers of a matrix or colour; None for the usual ones, which say nothing."""
        text = raw.texts.get(tag)
        if text is None:
            return None
        plain = text.replace("{", " ").replace("}", " ").replace(",", " ")
        numbers = list(map(plain_number, plain.split(None, len(usual))))
        if len(numbers) != len(usual) or None in numbers:
            self.book.add("places or colours that cannot be read", raw.where)
            return None
        return None if numbers == usual else numbers  # type: ignore[return-value]  # no None

    def addresses(self, raw: list[RawAddress]) -> list[Tree]:
        made: list[Tree] = []
        for address in raw:
            place: dict[str, Tree] = {"universe": address.universe, "address": address.address}
            if address.break_ + self.shift != 1:
                place["break"] = address.break_ + self.shift
            made.append(place)
        return made

    def add_addresses(self, raw: RawFixture) -> None:
        fixture = self.by_uuid.get(raw.multipatch)
        if fixture is None:
            self.book.add("multipatch fixtures whose parent is not there", raw.where)
            return
        for tag in _OWN_OF_MULTIPATCH & raw.texts.keys():
            if raw.texts[tag] != "0":
                self.book.add(f"{tag} of multipatch fixtures", raw.where)
        if raw.addresses:
            fixture.setdefault("addresses", []).extend(self.addresses(raw.addresses))

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
            where = f"fixture type {kind}"
            return read_fixture_type(archive.read(name), modes, book, where, archive.allowance)
    book.add("fixture types that the archive does not hold", f"fixture type {kind}")
    return {}


def _fixtures(root: "Element", book: LossBook) -> Iterator[tuple["Element", str]]:
    """Yield every fixture with its layer, in the order of the file, wherever it hangs."""
    others = _beside_the_layers(root)
    for layer in root.iterfind("Scene/Layers/Layer"):
        name = name_that_repeats(layer.get("name", ""), book, "Layer")
        waiting = [layer]
        while waiting:
            node = waiting.pop()
            if node.tag == "Fixture":
                yield node, name
            elif node.tag != "Layer":
                others[node.tag] = others.get(node.tag, 0) + 1
            for children in reversed(node.findall("ChildList")):
                waiting.extend(reversed(children))
    for tag, count in sorted(others.items()):
        book.add(f"{tag[:40]} of the scene", "the rig", count)


def _beside_the_layers(root: "Element") -> dict[str, int]:
    """Count what stands in the scene beside its layers and is not carried (MVR 3, 6 to 18)."""
    found: dict[str, int] = {}
    for node in (*root.iterfind("UserData/*"), *root.iterfind("Scene/AUXData/*")):
        if node.tag not in ("Position", "Class"):
            found[node.tag] = found.get(node.tag, 0) + 1
    return found


def _names(root: "Element", tag: str, book: LossBook) -> dict[str, str]:
    return {
        node.get("uuid", ""): name_that_repeats(node.get("name", ""), book, tag)
        for node in root.iterfind(f"Scene/AUXData/{tag}")
    }


def _type_name(spec: str) -> str:
    """Return a fixture type's name: its file without the ending, which real files leave out."""
    name = spec[:-5] if spec.lower().endswith(".gdtf") else spec
    return name or UNKNOWN_TYPE


def _number_of(raw: RawFixture) -> str | None:
    for tag in ("FixtureIDNumeric", "FixtureID", "CustomId"):
        text = raw.text(tag).lstrip("0")
        if text and WHOLE.fullmatch(text):
            return text
    return None
