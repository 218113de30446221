"""What differs: every field of the format, once, and nothing that did not happen."""

import copy
import json

import pytest
from msgspec import UNSET

from showvault.compare.changes import Added, Changed, Removed
from showvault.compare.differ import compare_shows
from showvault.show.addressing import Thing
from showvault.show.parts import LoadedPart, ShowParts, parts_of_file
from tests.builders import Tree, a_cue, a_list, a_rig, a_show
from tests.compare.pairs import changes_between

CUE = Thing("cue", "12.5", "1")


def a_show_with(cue: Tree) -> Tree:
    return a_show(cue_lists={"1": a_list({"12.5": cue, "20": a_cue({"1": {"Dimmer": 5}})})})


def changes_of_cue(before: Tree, after: Tree) -> list[Changed]:
    return list(changes_between(a_show_with(before), a_show_with(after)))


def test_a_level_is_one_change_with_its_fixture_and_attribute():
    (change,) = changes_of_cue(
        a_cue({"101": {"Dimmer": 50, "Pan": 1}}), a_cue({"101": {"Dimmer": 65, "Pan": 1}})
    )
    assert change == Changed(CUE, ("levels", "101", "Dimmer"), 50, 65)
    assert change.level == ("101", "Dimmer")


def test_a_type_and_a_mode_exchanged_together_are_one_change():
    wash, spot = {"type": "wash", "mode": "16 bit"}, {"type": "spot", "mode": "9 bit"}
    fixture = Thing("fixture", "7")
    mode = Changed(fixture, ("mode",), "16 bit", "9 bit")
    assert changes_between(a_show(patch={"7": wash}), a_show(patch={"7": spot})) == (
        Changed(fixture, ("type",), "wash", "spot", along=(mode,)),
    )


def test_a_mode_exchanged_alone_is_a_change_of_its_own():
    wash = {"type": "wash", "mode": "16 bit"}
    (change,) = changes_between(
        a_show(patch={"7": wash}), a_show(patch={"7": {**wash, "mode": "8 bit"}})
    )
    assert change == Changed(Thing("fixture", "7"), ("mode",), "16 bit", "8 bit")


def test_a_level_of_a_part_names_the_part():
    (change,) = changes_of_cue(
        a_cue(parts={"2": {"levels": {"1": {"Dimmer": 3}}}}),
        a_cue(parts={"2": {"levels": {"1": {"Dimmer": 4}}}}),
    )
    assert (change.part, change.level) == ("2", ("1", "Dimmer"))


def test_a_fixture_that_is_no_longer_stored_is_one_change_an_attribute():
    changes = changes_of_cue(a_cue({"1": {"Dimmer": 5, "Pan": 0}}), a_cue({}))
    assert [(change.level, change.after) for change in changes] == [
        (("1", "Dimmer"), UNSET),
        (("1", "Pan"), UNSET),
    ]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ({"levels": {"1": {"Dimmer": 50}}}, {"levels": {"1": {"Dimmer": 50.0}}}),
        ({"levels": {}}, {}),
        ({"levels": {"1": {}}}, {}),
        ({"also_go": []}, {}),
        ({"follow": {}}, {}),
        ({"times": {}}, {}),
        ({"label": "a", "notes": "b"}, {"notes": "b", "label": "a"}),
        ({"label": "\u00e9"}, {"label": "é"}),
    ],
)
def test_what_canonical_writing_does_not_tell_apart_is_no_change(one: Tree, other: Tree):
    assert changes_of_cue(one, other) == []


def test_an_empty_part_that_was_not_there_is_a_change_because_parts_exist_though_empty():
    (change,) = changes_of_cue({}, {"parts": {"2": {}}})
    assert change == Changed(CUE, ("parts", "2"), UNSET, {})


def test_true_is_not_one():
    (change,) = changes_of_cue({"extra": {"a": True}}, {"extra": {"a": 1}})
    assert (change.path, change.before, change.after) == (("extra", "a"), True, 1)


def test_extra_is_looked_into_object_by_object():
    before = {"extra": {"desk": {"page": 1, "tags": ["a"]}}}
    after = {"extra": {"desk": {"page": 2, "tags": ["a", "b"], "x": None}}}
    assert [(c.field, c.before, c.after) for c in changes_of_cue(before, after)] == [
        ("extra.desk.page", 1, 2),
        ("extra.desk.tags", ["a"], ["a", "b"]),
        ("extra.desk.x", UNSET, None),
    ]


def test_fields_of_the_show_are_changes_of_the_show():
    before = a_show(title="A", capacity={"universes": 4})
    after = a_show(title="B", capacity={"universes": 8}, venue="Barn")
    assert [(c.thing.kind, c.field, c.before, c.after) for c in changes_between(before, after)] == [
        ("show", "title", "A", "B"),
        ("show", "venue", UNSET, "Barn"),
        ("show", "capacity.universes", 4, 8),
    ]


def test_a_section_that_is_empty_is_the_same_as_none():
    assert changes_between(a_show(groups={}, presets={"Color": {}}), a_show()) == ()


def test_a_cue_list_that_is_new_comes_with_its_cues_as_one_change():
    added = a_list({"1": a_cue({"1": {"Dimmer": 10}}), "2": a_cue({"1": {"Dimmer": 20}})})
    (change,) = changes_between(a_show(), a_show(cue_lists={"3": added}))
    assert change == Added(Thing("cue_list", "3"), added)


def test_a_cue_that_is_deleted_beside_an_equal_one_is_a_removal():
    blackout = {"label": "Blackout", "fade_in": 0}
    before = a_show(cue_lists={"1": a_list({"5": blackout, "6": blackout})})
    after = a_show(cue_lists={"1": a_list({"6": blackout})})
    assert changes_between(before, after) == (Removed(Thing("cue", "5", "1"), blackout),)


def test_a_section_that_is_no_object_is_compared_as_far_as_it_goes():
    changes = changes_between(a_show(groups=[1]), a_show(groups=[2], title="x"))
    assert [change.field for change in changes] == ["title", "groups"]


def test_parts_with_equal_keys_are_never_read():
    class Unreadable:
        key = "same"

        @property
        def data(self) -> bytes:
            raise AssertionError("an equal part was read")

    outline = {"cue_lists": {"1": {"cues": {"1": {}}}}}
    before = ShowParts(outline, {Thing("cue", "1", "1"): Unreadable()})
    after = ShowParts(outline, {Thing("cue", "1", "1"): LoadedPart("same", b"{}")})
    assert compare_shows(before, after).changes == ()


def test_another_formatting_of_a_whole_show_is_no_change():
    tree = a_rig(cue_lists={"1": a_list({"5": a_cue({"101": {"Dimmer": 50}})})})
    shuffled = dict(reversed(list(copy.deepcopy(tree).items())))
    one, other = json.dumps(tree), json.dumps(shuffled, indent=7)
    compared = compare_shows(parts_of_file(one.encode()), parts_of_file(other.encode()))
    assert compared.changes == ()
