"""A fixture that changes in the light can be seen. Common practice, no source."""

from showvault.check.moves import find_live_moves
from tests.builders import a_cue, a_list, a_show_of_cues
from tests.check.rules import found, sentences

LIT = {"Dimmer": 100, "Pan": 50, "Tilt": 50}


def test_a_lit_fixture_that_moves_is_a_note_that_says_what_changes() -> None:
    show = a_show_of_cues(
        {
            "1": a_cue({"101": LIT, "102": LIT}),
            "2": a_cue({"101": {"Pan": 60}, "102": {"Pan": 40, "ColorAdd_R": 0}}),
        }
    )
    assert found(find_live_moves, show) == [("note", "live-move", "/cue_lists/1/cues/2")]
    assert sentences(find_live_moves, show) == [
        "list 1 cue 2: fixtures 101, 102 change position and colour in the light"
    ]


def test_a_dark_fixture_that_moves_is_no_finding() -> None:
    show = a_show_of_cues(
        {"1": a_cue({"101": {**LIT, "Dimmer": 0}}), "2": a_cue({"101": {"Pan": 60}})}
    )
    assert found(find_live_moves, show) == []


def test_a_list_without_cues_has_no_moves() -> None:
    show = a_show_of_cues({"1": a_cue()})
    show["cue_lists"]["2"] = a_list({})
    assert found(find_live_moves, show) == []


def test_colours_that_change_in_the_light_are_one_note_for_a_list() -> None:
    show = a_show_of_cues(
        {
            "1": a_cue({"101": LIT}),
            "2": a_cue({"101": {"ColorAdd_R": 0}}),
            "3": a_cue({"101": {"ColorAdd_R": 100}}),
        }
    )
    assert found(find_live_moves, show) == [("note", "live-move", "/cue_lists/1")]
    assert sentences(find_live_moves, show) == ["list 1: colours change in the light in cues 2, 3"]
