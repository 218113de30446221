"""What a cue puts on stage, rule by rule. Common practice without a published source."""

import pytest

from showvault.look.tracking import NoSuchLookError, all_looks, look_as_json, look_at
from showvault.show.reading import decode_show
from tests.builders import a_cue, a_list, a_rig, a_show_of_cues, as_bytes


def look(tree, cue, list_number="1"):
    return look_as_json(look_at(decode_show(as_bytes(tree)), list_number, cue))


def test_a_look_shows_every_parameter_of_every_fixture_at_its_default():
    shown = look(a_show_of_cues({"1": a_cue()}), "1")
    assert list(shown) == ["1", "2", "3", "4", "101", "102", "103"]
    assert shown["101"] == {
        "Dimmer": 0,
        "ColorAdd_R": 100,
        "ColorAdd_G": 100,
        "ColorAdd_B": 100,
        "Pan": 50,
        "Tilt": 50,
    }


def test_a_value_holds_until_a_later_cue_stores_another():
    tree = a_show_of_cues(
        {
            "9": a_cue({"1": {"Dimmer": 62.5}}),
            "9.5": a_cue({"2": {"Dimmer": 10}}),
            "10": a_cue({"1": {"Dimmer": 0}}),
        }
    )
    assert [look(tree, cue)["1"]["Dimmer"] for cue in ("9", "9.5", "10")] == [62.5, 62.5, 0]


def test_a_list_that_does_not_track_drops_the_intensity_and_holds_the_rest():
    cues = {"1": a_cue({"101": {"Dimmer": 80, "Pan": 20}}), "2": a_cue({"1": {"Dimmer": 5}})}
    tree = a_rig(cue_lists={"1": a_list(cues, tracking=False)})
    assert look(tree, "2")["101"]["Dimmer"] == 0
    assert look(tree, "2")["101"]["Pan"] == 20


def test_a_released_parameter_goes_to_its_default():
    tree = a_show_of_cues(
        {"1": a_cue({"101": {"Pan": 20}}), "2": a_cue({"101": {"Pan": {"release": True}}})}
    )
    assert look(tree, "2")["101"]["Pan"] == 50


def test_what_is_stored_for_an_unknown_fixture_is_shown_from_there_on():
    tree = a_show_of_cues(
        {
            "1": a_cue(),
            "2": a_cue({"900": {"Dimmer": 40}, "1": {"Gobo1": 7}}),
            "3": a_cue(),
            "4": a_cue({"900": {"Dimmer": {"release": True}}}),
        }
    )
    assert "900" not in look(tree, "1")
    assert look(tree, "3")["900"] == {"Dimmer": 40}
    assert look(tree, "3")["1"] == {"Dimmer": 0, "Gobo1": 7}
    assert "900" not in look(tree, "4")


def test_the_highest_part_wins_where_two_store_one_parameter():
    parts = {"10": {"levels": {"1": {"Dimmer": 30}}}, "2": {"levels": {"1": {"Dimmer": 20}}}}
    assert look(a_show_of_cues({"1": a_cue({"1": {"Dimmer": 10}}, parts=parts)}), "1")["1"] == {
        "Dimmer": 30
    }


def test_a_preset_that_holds_nothing_counts_as_not_stored():
    tree = a_show_of_cues(
        {
            "1": a_cue({"1": {"Dimmer": 10}}),
            "2": a_cue({"1": {"Dimmer": {"preset": "Dimmer 1"}}}),
        },
        presets={"Dimmer": {"1": {"levels": {"2": {"Dimmer": 99}}}}},
    )
    assert look(tree, "2")["1"]["Dimmer"] == 10


def test_a_cue_that_is_not_there_names_its_neighbours():
    show = decode_show(as_bytes(a_show_of_cues({"1": a_cue(), "3": a_cue(), "9": a_cue()})))
    with pytest.raises(NoSuchLookError, match="list 1 cue 2") as caught:
        look_at(show, "1", "2")
    assert caught.value.hint == "near it: 1, 3"


def test_a_list_that_is_not_there_names_the_ones_that_are():
    show = decode_show(as_bytes(a_show_of_cues({"1": a_cue()})))
    with pytest.raises(NoSuchLookError, match="no list 7") as caught:
        all_looks(show, "7")
    assert caught.value.hint == "near it: 1"
