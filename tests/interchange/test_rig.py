"""Rigs from MVR 1.6 (DIN SPEC 15801:2023-12) and back; tests name its tables."""

import io
import zipfile
from decimal import Decimal
from xml.etree import ElementTree

import pymvr
import pytest

from showvault.interchange.loss_book import LossBook
from showvault.interchange.mvr_fixtures import parse_address
from showvault.interchange.reader import CannotReadError
from showvault.interchange.registry import choose_reader
from showvault.interchange.rig import RigReader
from showvault.show.reading import find_faults
from showvault.show.writing import write_show
from tests.interchange.mvr_structure import find_faults_of_structure
from tests.interchange.rigs import address, channel, fixture, fixture_type, packed, rig, uid

SWELL = fixture_type(channel("1,2", "Dimmer"), channel("3", "Pan"))


def read(data, **options):
    result = RigReader().read(data, options)
    assert find_faults(write_show(result.show)) == []
    return result


def patch(*fixtures, **more):
    return read(rig(*fixtures, Swell=SWELL, **more)).show["patch"]


def losses(result):
    return {loss.what: loss.count for loss in result.losses}


def test_a_rig_is_known_by_its_name_and_proves_itself_whole():
    data = rig(fixture(1), Swell=SWELL)
    reader = choose_reader("Stage.MVR", data)
    assert (reader.name, reader.judge(data).state) == ("mvr", "whole")
    assert reader.judge(data[:-30]).state == "broken"


@pytest.mark.parametrize(
    "text, place",
    [
        ("1", (1, 1)),
        ("512", (1, 512)),
        ("513", (2, 1)),
        ("1024", (2, 512)),
        ("3.101", (3, 101)),
        ("1.600", None),
        ("0.1", None),
        ("-3", None),
        ("1.", None),
        ("x", None),
        ("64000.1", None),
        ("1.2.3", None),
    ],
)
def test_an_address_is_absolute_or_universe_and_address(text, place):
    """MVR Table 51: a whole number is absolute; universes count from 1 and addresses to 512.
    The pairs of 1, 512, 513 and 1024 are plain arithmetic. ANSI E1.31: universes to 63999."""
    assert parse_address(text) == place


@pytest.mark.parametrize("nothing", [address("0"), address(""), "<Addresses/>", ""])
def test_a_fixture_at_address_0_is_not_patched(nothing):
    """Real files write 0 for "not patched" (outside the tables); pymvr reads 1.1, the trap."""
    assert "addresses" not in patch(fixture(1, nothing))["1"]


def test_an_address_that_cannot_be_is_told_and_leaves_the_fixture_unpatched():
    result = read(rig(fixture(1, address("1.600")), Swell=SWELL))
    assert "addresses" not in result.show["patch"]["1"]
    assert losses(result) == {"addresses that cannot be": 1}


def test_breaks_count_from_0_in_a_rig_and_from_1_in_a_show():
    """MVR Table 50: break defaults to 0; GDTF Table 58: DMXBreak defaults to 1. How they meet is
    not stated; real files write 0, 1, 2, 3."""
    inside = '<Addresses><Address break="0">1</Address><Address break="1">2.1</Address></Addresses>'
    assert patch(fixture(1, inside))["1"]["addresses"] == [
        {"universe": 1, "address": 1},
        {"universe": 2, "address": 1, "break": 2},
    ]


def test_breaks_of_a_rig_without_a_break_0_are_taken_as_they_are():
    assert patch(fixture(1, address("7", break_=1)))["1"]["addresses"] == [
        {"universe": 1, "address": 7}
    ]


def test_what_the_patch_says_of_a_fixture_is_read():
    """MVR Tables 25 and 26."""
    inside = (
        f"<Position>{uid(50)}</Position><UnitNumber>4</UnitNumber><Function>Front</Function>"
        "<DMXInvertPan>true</DMXInvertPan><Matrix>{1,0,0}{0,1,0}{0,0,1}{1500.5,0,6000}</Matrix>"
        + address("33")
    )
    aux = f'<Position uuid="{uid(50)}" name="Bridge"/>'
    assert patch(fixture(7, inside), aux=aux)["7"] == {
        "type": "Swell",
        "mode": "Basic",
        "name": "Wash 7",
        "addresses": [{"universe": 1, "address": 33}],
        "position": "Bridge",
        "unit_number": "4",
        "purpose": "Front",
        "invert": ["Pan"],
        "extra": {
            "mvr": {
                "uuid": uid(7),
                "layer": "LX",
                "matrix": [1, 0, 0, 0, 1, 0, 0, 0, 1, Decimal("1500.5"), 0, 6000],
            }
        },
    }


def test_a_fixture_type_inside_is_read_with_the_mode_in_use():
    kinds = read(rig(fixture(1), Swell=SWELL)).show["fixture_types"]
    assert [c["slots"] for c in kinds["Swell"]["modes"]["Basic"]["channels"]] == [[1, 2], [3]]


def test_a_type_is_found_without_its_ending():
    """Real files leave the ending of GDTFSpec out (outside the tables)."""
    result = read(rig(fixture(1, spec="Swell"), Swell=SWELL))
    assert "modes" in result.show["fixture_types"]["Swell"]


def test_a_type_with_a_name_beyond_ascii_keeps_it():
    """pymvr gives the name in another encoding, the trap."""
    data = packed(
        {
            "GeneralSceneDescription.xml": rig_scene(fixture(1, spec="Wöge.gdtf")),
            "Wöge.gdtf": SWELL,
        }
    )
    assert "modes" in read(data).show["fixture_types"]["Wöge"]


def rig_scene(*fixtures, **more):
    with zipfile.ZipFile(io.BytesIO(rig(*fixtures, **more))) as opened:
        return opened.read("GeneralSceneDescription.xml")


def test_a_type_that_is_not_there_and_one_that_cannot_be_read_are_told():
    result = read(rig(fixture(1), fixture(2, spec="Bad"), Bad=b"no archive"))
    assert losses(result) == {
        "fixture types that the archive does not hold": 1,
        "fixture types that cannot be read": 1,
    }
    assert set(result.show["patch"]) == {"1", "2"}


def test_a_mode_that_the_type_does_not_have_is_told():
    """MVR Table 26: GDTFMode must equal the name of a DMXMode."""
    result = read(rig(fixture(1, mode="Wide"), Swell=SWELL))
    assert losses(result)["modes that the fixture type does not have"] == 1


def test_fixtures_without_a_number_get_the_next_free_one_and_that_is_told():
    bare = (
        f'<Fixture name="New" uuid="{uid(70)}"><GDTFSpec>Swell</GDTFSpec><GDTFMode>Basic</GDTFMode>'
        "<FixtureID></FixtureID></Fixture>"
    )
    result = read(rig(bare, fixture(12), Swell=SWELL))
    assert {n: f["name"] for n, f in result.show["patch"].items()} == {"12": "Wash 12", "13": "New"}
    assert "fixtures that were given a number, having none of their own: 1" in result.notes


def test_a_number_that_is_taken_is_told_and_nobody_is_overwritten():
    twice = fixture(5, name="Second").replace(uid(5), uid(6))
    result = read(rig(fixture(5), twice, Swell=SWELL))
    assert {n: f["name"] for n, f in result.show["patch"].items()} == {"5": "Wash 5", "6": "Second"}
    assert losses(result) == {"fixture numbers that are taken: a new one is given": 1}


def test_a_text_as_fixture_id_is_carried_along():
    """MVR Table 26: FixtureID is a string, FixtureIDNumeric a whole number."""
    node = fixture(5).replace("<FixtureID>5<", "<FixtureID>A 5<")
    assert patch(node)["5"]["extra"]["mvr"]["fixture_id"] == "A 5"


def test_a_multipatch_fixture_is_a_further_address_of_its_parent():
    """MVR Table 25, multipatch: the uuid of the parent; no FixtureID of its own."""
    child = (
        f'<Fixture name="x" uuid="{uid(2)}" multipatch="{uid(1)}"><GDTFSpec>Swell</GDTFSpec>'
        f"<GDTFMode>Basic</GDTFMode>{address('2.1')}</Fixture>"
    )
    found = patch(child, fixture(1, address("1")))
    assert list(found) == ["1"]
    assert found["1"]["addresses"] == [
        {"universe": 1, "address": 1},
        {"universe": 2, "address": 1},
    ]


def test_fixtures_are_found_wherever_they_hang():
    """MVR Tables 6 to 18: child lists inside groups, trusses and fixtures."""
    inner = f"<ChildList>{fixture(3)}</ChildList>"
    group = f'<GroupObject uuid="{uid(80)}"><ChildList>{fixture(1)}</ChildList></GroupObject>'
    truss = f'<Truss uuid="{uid(81)}"><ChildList>{fixture(2, inner)}</ChildList></Truss>'
    result = read(rig(group, truss, Swell=SWELL))
    assert set(result.show["patch"]) == {"1", "2", "3"}
    assert losses(result) == {"GroupObject of the scene": 1, "Truss of the scene": 1}


def test_nodes_that_are_not_carried_are_told():
    """pymvr drops what it does not know in silence, the trap."""
    result = read(rig(fixture(1, "<Focus>x</Focus><Own><A/></Own>"), Swell=SWELL))
    assert losses(result) == {"Focus of fixtures": 1, "Own of fixtures": 1}


def test_a_number_that_cannot_be_read_is_told_and_ends_nothing():
    """pymvr stops with a ValueError here, the trap."""
    result = read(rig(fixture(1, "<UnitNumber>four</UnitNumber>"), Swell=SWELL))
    assert losses(result) == {"UnitNumber that is no number": 1}


def test_a_node_that_stands_twice_is_told_and_the_first_counts():
    """MVR Table 26: each node of a fixture at most once."""
    result = read(rig(fixture(1, "<UnitNumber>4</UnitNumber><UnitNumber>5</UnitNumber>")))
    assert result.show["patch"]["1"]["unit_number"] == "4"
    assert losses(result)["UnitNumber that stands twice in a fixture"] == 1


def test_a_position_or_class_that_the_scene_does_not_hold_is_told():
    """MVR Table 26: Position and Classing are uuids of nodes in AUXData."""
    inside = f"<Position>{uid(50)}</Position><Classing>{uid(51)}</Classing>"
    result = read(rig(fixture(1, inside), Swell=SWELL))
    assert losses(result) == {
        "Classing that the scene does not hold": 1,
        "Position that the scene does not hold": 1,
    }


def test_what_the_scene_holds_beside_its_layers_is_told():
    """MVR Tables 3 and 6 to 18: UserData, Symdef and MappingDefinition."""
    aux = f'<Symdef uuid="{uid(60)}"/><MappingDefinition uuid="{uid(61)}"/>'
    data = rig_scene(fixture(1), aux=aux).replace(
        b"<Scene>", b"<UserData><Data/></UserData><Scene>"
    )
    result = read(packed({"GeneralSceneDescription.xml": data, "Swell.gdtf": SWELL}))
    assert losses(result) == {
        "Data of the scene": 1,
        "Symdef of the scene": 1,
        "MappingDefinition of the scene": 1,
    }


def test_what_a_multipatch_fixture_says_for_itself_is_told():
    """MVR Table 25: it is a further address of its parent, which has one place and one unit."""
    child = (
        f'<Fixture name="x" uuid="{uid(2)}" multipatch="{uid(1)}"><GDTFSpec>Swell</GDTFSpec>'
        f"<GDTFMode>Basic</GDTFMode>{address('2.1')}<UnitNumber>9</UnitNumber></Fixture>"
    )
    result = read(rig(fixture(1), child, Swell=SWELL))
    assert losses(result) == {"UnitNumber of multipatch fixtures": 1}


def test_a_number_with_zeros_before_it_is_that_number_and_a_huge_one_is_none():
    ids = "<FixtureIDNumeric>7</FixtureIDNumeric>", "<FixtureID>7</FixtureID>"
    node = fixture(7)
    for text in ids:
        node = node.replace(text, "")
    found = patch(
        *(
            node.replace(uid(7), uid(n)).replace(
                "</Fixture>", f"<FixtureID>{t}</FixtureID></Fixture>"
            )
            for n, t in ((1, "0007"), (2, "0" * 12 + "9" * 30))
        )
    )
    assert found["7"]["extra"]["mvr"]["fixture_id"] == "0007"
    assert set(found) == {"7", "8"}


@pytest.mark.parametrize(
    "kind, hazard", [(4, "house"), (5, "non_dim"), (7, "fog"), (9, "pyrotechnic")]
)
def test_the_kind_of_a_custom_id_is_a_hazard(kind, hazard):
    """CustomIdType: list after MVR Table 26."""
    result = read(rig(fixture(1, f"<CustomIdType>{kind}</CustomIdType>"), Swell=SWELL))
    assert hazard in result.show["fixture_types"]["Swell"]["hazards"]


@pytest.mark.parametrize(
    "entries",
    [
        {},
        {"GeneralSceneDescription.xml": b""},
        {"GeneralSceneDescription.xml": b"<html/>"},
        {"GeneralSceneDescription.xml": b'<!DOCTYPE x [<!ENTITY a "b">]><x>&a;</x>'},
        {"../GeneralSceneDescription.xml": b"<GeneralSceneDescription/>"},
    ],
)
def test_an_archive_without_an_honest_scene_is_an_error_for_people(entries):
    with pytest.raises(CannotReadError):
        RigReader().read(packed(entries), {})


def test_a_bomb_in_a_fixture_type_does_not_stop_the_patch():
    bomb = packed({"description.xml": b"<GDTF>" + b" " * 40_000_000})
    result = read(rig(fixture(1), Swell=bomb))
    assert losses(result) == {"fixture types that cannot be read": 1}


SHOW = {
    "format": "neutral-show",
    "format_version": 1,
    "patch": {
        "1": {
            "type": "Swell",
            "mode": "Basic",
            "name": 'Wash <1> & "more"',
            "addresses": [
                {"universe": 1, "address": 1},
                {"universe": 3, "address": 101, "break": 2},
                {"universe": 4, "address": 512},
            ],
            "position": "Bridge",
            "unit_number": "3",
            "purpose": "front wash",
            "invert": ["Pan", "Tilt"],
        },
        "20": {"type": "Swell", "mode": "Basic"},
    },
}


def test_a_patch_that_was_written_reads_as_the_same_patch():
    """Laws of the format: MVR Tables 25, 26, 50 and 51; uuids are kept in ``extra``."""
    written = RigReader().write(SHOW, {})
    result = read(written.data)
    assert written.losses == ()
    found = {
        n: {name: v for name, v in f.items() if name != "extra" and (name, v) != ("name", "")}
        for n, f in result.show["patch"].items()
    }
    assert found == SHOW["patch"]
    again = RigReader().write(result.show, {})
    assert write_show({"patch": read(again.data).show["patch"]}) == write_show(
        {"patch": result.show["patch"]}
    )


def test_the_same_patch_gives_the_same_bytes():
    assert RigReader().write(SHOW, {}).data == RigReader().write(SHOW, {}).data


def test_a_written_rig_is_read_by_the_reference_library():
    """Outside check: pymvr reads the addresses and units that were written."""
    with pymvr.GeneralSceneDescription(io.BytesIO(RigReader().write(SHOW, {}).data)) as opened:
        found = opened.scene.layers[0].child_list.fixtures
        positions = {p.uuid: p.name for p in opened.scene.aux_data.positions}
    first = found[0]
    assert (first.fixture_id, first.unit_number, positions[first.position]) == ("1", 3, "Bridge")
    assert [(a.dmx_break, a.universe, a.address) for a in first.addresses.addresses] == [
        (0, 1, 1),
        (1, 3, 101),
    ]
    assert found[1].multipatch == first.uuid


def scene_in(data):
    with zipfile.ZipFile(io.BytesIO(data)) as opened:
        assert opened.namelist() == ["GeneralSceneDescription.xml"]
        return ElementTree.fromstring(opened.read("GeneralSceneDescription.xml"))


def test_a_written_rig_keeps_the_structure_of_the_standard():
    """MVR Tables 2, 6 to 18, 25, 26, 35, 50 and 51, in a ZIP without folders."""
    root = scene_in(RigReader().write(SHOW, {}).data)
    assert len(list(root.iter("Fixture"))) == 3
    assert find_faults_of_structure(root) == []


@pytest.mark.parametrize(
    "damage, said",
    [
        (lambda root: root.attrib.pop("provider"), "provider is missing"),
        (lambda root: root[0].append(root[0][0]), "AUXData stands 2 times"),
        (lambda root: root.find(".//Fixture").set("uuid", "7"), "attribute uuid is '7'"),
        (lambda root: root.find(".//Fixture").set("uuid", uid(0)), "attribute uuid"),
        (lambda root: root.find(".//Fixture").set("color", "red"), "attribute color"),
        (lambda root: remove(root, "UnitNumber"), "UnitNumber stands 0 times"),
        (lambda root: remove(root, "GDTFMode"), "GDTFSpec without GDTFMode"),
        (lambda root: remove(root, "FixtureID"), "FixtureID stands 0 times"),
        (lambda root: setattr(root.find(".//Address"), "text", "0"), "it says '0'"),
        (lambda root: root.find(".//Address").set("break", "1"), "a break stands twice"),
        (lambda root: root.find(".//Fixture").append(ElementTree.Element("Own")), "no such node"),
        (lambda root: reverse(root.find(".//Fixture")), "another order"),
        (lambda root: setattr(root.find(".//DMXInvertPan"), "text", "yes"), "it says 'yes'"),
    ],
)
def test_the_transcribed_structure_finds_what_breaks_it(damage, said):
    """Holds the check itself: each rule can fail."""
    root = scene_in(RigReader().write(SHOW, {}).data)
    damage(root)
    assert any(said in fault for fault in find_faults_of_structure(root))


def remove(root, tag):
    node = root.find(".//Fixture")
    node.remove(node.find(tag))


def reverse(node):
    node[:] = list(node)[::-1]


def test_a_text_that_no_node_keeps_as_it_is_is_told():
    """XML 1.0, 2.11: a carriage return comes back as a line feed; outer blanks are not kept."""
    show = {"patch": {"1": {"type": "", "mode": " 8\rbit ", "purpose": "", "position": ""}}}
    written = RigReader().write(show, {})
    assert losses(written) == {
        "fixture types without a name": 1,
        "outer blanks and carriage returns of texts": 1,
        "empty texts": 2,
    }
    assert find_faults_of_structure(scene_in(written.data)) == []


@pytest.mark.parametrize(
    "number",
    [10**13, Decimal("1e999999"), Decimal("1e-99"), Decimal("0.1234567890123456789"), True, "1"],
)
def test_a_place_that_would_come_back_as_another_is_told_and_left_out(number):
    matrix = [number, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0]
    show = {"patch": {"1": {"type": "Swell", "mode": "", "extra": {"mvr": {"matrix": matrix}}}}}
    assert losses(RigReader().write(show, {})) == {"places or colours that cannot be written": 1}


def test_what_a_rig_cannot_hold_is_told():
    show = SHOW | {"title": "Harbour", "fixture_types": {"Swell": {}}, "cue_lists": {"1": {}}}
    show["patch"] = {
        "1": {"type": "Swell", "mode": "\x1bBasic", "unit_number": "3a", "color": "amber"}
    }
    written = RigReader().write(show, {})
    assert losses(written) == {
        "color of fixtures": 1,
        "characters that XML has no place for": 1,
        "unit numbers that are no whole number": 1,
        "title": 1,
        "cue lists": 1,
        "fixture type files: the archive names them and does not hold them": 1,
    }


def test_a_loss_of_nothing_is_not_entered():
    book = LossBook()
    book.add("levels", "cue 1", 0)
    assert book.losses() == ()
