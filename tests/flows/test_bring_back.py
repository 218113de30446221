"""One thing out of an older show into the show as it is now."""

from pathlib import Path

import pytest

from showvault.files.reading import FileIdentity, SettledFile
from showvault.flows.bring_back import (
    AttributeNotStoredError,
    BroughtBack,
    NoSuchPortionError,
    NothingThereError,
    bring_back,
)
from showvault.flows.rewriting import CurrentShow
from showvault.merge.bringing import NeedsMissingError, PlaceTakenError
from showvault.show.addressing import Thing
from showvault.show.asking import read_asking
from showvault.show.cutting import cut_into_parts
from showvault.show.parts import parts_of_file
from showvault.show.trees import parse_part
from tests.builders import Tree, a_cue, a_fixture, a_show_of_cues, as_bytes
from tests.merge.three_sides import Edit, cues, edited, renumber


def current_show(tree: Tree) -> CurrentShow:
    data = as_bytes(tree)
    cut = cut_into_parts(data)
    assert cut is not None
    identity = FileIdentity(0, 0, len(data), 0, 0)
    return CurrentShow(SettledFile(Path("evening.json"), data, identity), cut)


def back(old: Tree, words: str, now: Tree, *, needs="bring", neighbours="as they come"):
    return bring_back(
        parts_of_file(as_bytes(old)),
        "version 7",
        current_show(now),
        read_asking(words),
        words,
        needs=needs,
        neighbours=neighbours,
    )


def show_of(result: BroughtBack) -> Tree:
    return parse_part(result.data)


def evening() -> Tree:
    return a_show_of_cues(
        {
            "1": a_cue({"1": {"Dimmer": 10}, "101": {"Dimmer": 30, "ColorAdd_R": 5}}, label="One"),
            "2": a_cue({"101": {"ColorAdd_R": {"preset": "Color 1.3"}, "Dimmer": 40}}, label="Two"),
            "3": a_cue({"2": {"Dimmer": 50}}, label="Three", link={"cue": "1"}),
            "4": a_cue({"1": {"Dimmer": 90}}, label="Four"),
        },
        presets={"Color": {"1.3": {"name": "Amber", "levels": {"101": {"ColorAdd_R": 80}}}}},
        groups={"3": {"name": "Bars", "fixtures": [1, 2]}},
    )


def later(*edits: Edit) -> Tree:
    return edited(evening(), *edits)


def set_one(show: Tree) -> None:
    cues(show)["1"] = a_cue({"1": {"Dimmer": 77}}, label="Edited")


def test_a_cue_comes_back_and_nothing_else_changes():
    result = back(evening(), "cue 1", later(set_one, lambda s: cues(s)["2"].update(label="New")))
    assert show_of(result) == later(lambda s: cues(s)["2"].update(label="New"))


def test_what_tracks_into_other_cues_is_told_apart_from_what_was_asked_for():
    result = back(evening(), "cue 1", later(set_one))
    assert [effect.cue.id for effect in result.asked] == ["1"]
    assert [effect.cue.id for effect in result.others] == ["2", "3"]


def test_keeping_looks_stores_the_levels_that_other_cues_had():
    result = back(evening(), "cue 1", later(set_one), neighbours="keep looks")
    assert result.others == ()
    assert result.stores == (Thing("cue", "2", "1"),)
    assert cues(show_of(result))["1"] == cues(evening())["1"]
    assert cues(show_of(result))["2"]["levels"]["1"] == {"Dimmer": 77}


def test_bringing_back_what_was_just_replaced_gives_the_first_bytes():
    now = later(set_one)
    first = back(evening(), "cue 1", now)
    second = back(now, "cue 1", show_of(first))
    assert second.data == as_bytes(now)


def test_several_cues_come_back_at_once():
    now = later(set_one, lambda s: cues(s)["2"].update(fade_in=1), lambda s: cues(s).pop("3"))
    assert show_of(back(evening(), "cues 1-3", now)) == evening()


def test_a_cue_that_was_renumbered_comes_back_under_its_number_of_now():
    now = later(lambda s: cues(s)["2"].update(fade_in=8), lambda s: renumber(s, 10))
    result = back(evening(), "cue 2", now)
    assert cues(show_of(result))["12"]["fade_in"] == 3
    assert result.brought.notes == ("list 1 cue 2 is list 1 cue 12 now",)


def without_the_preset(show: Tree) -> None:
    del show["presets"]["Color"]["1.3"]
    del cues(show)["2"]


def test_a_preset_that_is_gone_comes_along():
    result = back(evening(), "cue 2", later(without_the_preset))
    assert result.brought.along == (Thing("preset", "Color 1.3"),)
    assert show_of(result) == evening()


def test_plain_values_may_stand_in_for_a_preset_that_is_gone():
    result = back(evening(), "cue 2", later(without_the_preset), needs="values")
    assert cues(show_of(result))["2"]["levels"]["101"] == {"ColorAdd_R": 80, "Dimmer": 40}
    assert "presets" not in show_of(result)


def test_what_is_needed_and_gone_may_be_refused():
    with pytest.raises(NeedsMissingError, match="Color preset page 1 slot 3"):
        back(evening(), "cue 2", later(without_the_preset), needs="refuse")


def test_a_preset_whose_place_is_another_ones_now_gives_its_plain_values():
    def another(show):
        show["presets"]["Color"]["1.3"] = {
            "name": "Deep blue",
            "levels": {"102": {"ColorAdd_B": 9}},
        }
        del cues(show)["2"]

    result = back(evening(), "cue 2", later(another))
    assert cues(show_of(result))["2"]["levels"]["101"]["ColorAdd_R"] == 80
    assert show_of(result)["presets"]["Color"]["1.3"]["name"] == "Deep blue"
    assert "is another one now: plain values instead" in result.brought.notes[0]


def test_a_cue_names_its_preset_by_the_number_of_now_though_another_one_stands_at_the_old():
    def exchanged(show):
        presets = show["presets"]["Color"]
        presets["1.9"] = presets["1.3"]
        presets["1.3"] = {"name": "Deep blue", "levels": {"102": {"ColorAdd_B": 9}}}
        del cues(show)["2"]

    result = back(evening(), "cue 2", later(exchanged))
    assert result.brought.along == ()
    stored = cues(show_of(result))["2"]["levels"]["101"]
    assert stored == {"ColorAdd_R": {"preset": "Color 1.9"}, "Dimmer": 40}


def test_a_fixture_that_is_gone_comes_along_without_its_addresses():
    def without(show):
        del show["patch"]["101"]
        del cues(show)["2"]
        del cues(show)["1"]["levels"]["101"]

    result = back(evening(), "cue 2", later(without))
    assert Thing("fixture", "101") in result.brought.along
    assert "addresses" not in show_of(result)["patch"]["101"]


def test_a_number_that_is_taken_by_something_else_is_refused():
    def over(show):
        held = cues(show)
        held["5"] = held.pop("4")
        held["4"] = held.pop("3")
        held["3"] = held.pop("2")
        held["2"] = held.pop("1")
        del held["3"]

    with pytest.raises(PlaceTakenError, match="list 1 cue 2"):
        gone = a_cue({"102": {"Pan": 1, "Tilt": 2, "Dimmer": 3}}, label="Gone", notes="long ago")
        old = edited(evening(), lambda s: cues(s).update({"2": gone}))
        back(old, "cue 2", edited(old, over))


def test_one_attribute_of_one_cue_comes_back_alone():
    now = later(lambda s: cues(s)["2"].update(a_cue({"101": {"ColorAdd_R": 1, "Dimmer": 2}})))
    result = back(evening(), "cue 2 dimmer", now)
    assert cues(show_of(result))["2"]["levels"]["101"] == {"ColorAdd_R": 1, "Dimmer": 40}


def test_the_patch_of_one_universe_comes_back_alone():
    def repatched(show):
        show["patch"]["1"].update(name="New name", addresses=[{"universe": 3, "address": 9}])
        show["patch"]["101"]["addresses"] = [{"universe": 3, "address": 100}]

    result = back(evening(), "universe 1", later(repatched))
    patch = show_of(result)["patch"]
    assert patch["1"]["addresses"] == [
        {"universe": 3, "address": 9},
        {"universe": 1, "address": 1},
    ]
    assert patch["1"]["name"] == "New name"
    assert patch["101"]["addresses"] == [{"universe": 3, "address": 100}]


def test_groups_fixtures_and_presets_come_back_in_plain_words():
    def edits(show):
        show["groups"]["3"]["fixtures"] = [4]
        show["patch"]["2"] = a_fixture(address=400)
        show["presets"]["Color"]["1.3"]["name"] = "Straw"

    now = later(edits)
    for words in ("group 3", "fixtures 2-3", "preset color 1.3"):
        now = show_of(back(evening(), words, now))
    assert now == evening()


def test_what_a_version_does_not_have_is_said():
    with pytest.raises(NothingThereError, match="version 7 has no cue 99") as caught:
        back(evening(), "cue 99", later(set_one))
    assert caught.value.hint == "near it: list 1 cue 1, list 1 cue 2, list 1 cue 3, list 1 cue 4"


def test_an_attribute_that_is_stored_neither_then_nor_now_is_refused_with_those_that_are():
    with pytest.raises(AttributeNotStoredError, match="cue 1 stores no fan, neither in") as caught:
        back(evening(), "cue 1 fan", later(set_one))
    assert caught.value.hint == "it stores: ColorAdd_R, Dimmer"


def test_an_attribute_that_is_stored_now_alone_goes_away_again():
    def store_pan(show):
        cues(show)["1"]["levels"]["1"]["Pan"] = 50

    assert show_of(back(evening(), "cue 1 pan", later(store_pan))) == evening()


def test_a_fixture_stores_no_attribute():
    with pytest.raises(NoSuchPortionError):
        back(evening(), "fixture 1 dimmer", later(set_one))


def test_an_attribute_of_a_cue_that_stores_nothing_is_refused_without_a_list_of_what_there_is():
    def empty(show: Tree) -> None:
        cues(show)["3"].pop("levels")

    with pytest.raises(AttributeNotStoredError) as caught:
        back(edited(evening(), empty), "cue 3 pan", later(empty))
    assert str(caught.value) == "cue 3 stores no pan, neither in version 7 nor now"
    assert caught.value.hint is None


def test_an_attribute_of_a_cue_that_is_gone_now_brings_the_cue_with_all_it_stored():
    result = back(evening(), "cue 1 dimmer", later(lambda show: cues(show).pop("1")))
    assert show_of(result) == evening()


def test_where_no_look_would_change_keeping_looks_stores_nothing():
    result = back(
        evening(), "cue 4", later(lambda s: cues(s)["4"].update(label="x")), neighbours="keep looks"
    )
    assert (result.stores, result.others) == ((), ())
    assert show_of(result) == evening()


def test_a_list_comes_back_with_its_own_fields_and_every_cue_it_had():
    def undone(show: Tree) -> None:
        show["cue_lists"]["1"]["name"] = "Other"
        cues(show)["1"]["fade_in"] = 9
        del cues(show)["3"]

    result = back(evening(), "list 1", later(undone))
    assert show_of(result) == evening()
    assert {thing.kind for thing in result.brought.asked} == {"cue_list", "cue"}


def test_a_fixture_of_a_universe_that_is_gone_now_comes_back_to_it():
    def unpatch(show: Tree) -> None:
        del show["patch"]["103"]

    result = back(evening(), "universe 2", later(unpatch))
    assert show_of(result) == evening()
