"""A block cue stops what tracks into it only if it stores it. Common practice, no source."""

from showvault.check.blocks import find_blocks_that_let_through
from tests.builders import a_cue, a_show_of_cues
from tests.check.rules import found, sentences

BOTH = {"1": {"Dimmer": 50}, "101": {"Dimmer": 60, "Pan": 10}}


def test_a_block_cue_that_stores_everything_in_use_is_no_problem() -> None:
    show = a_show_of_cues({"1": a_cue(BOTH), "2": a_cue(BOTH, block=True)})
    assert found(find_blocks_that_let_through, show) == []


def test_what_a_block_cue_does_not_store_is_a_warning_that_names_it() -> None:
    show = a_show_of_cues({"1": a_cue(BOTH), "2": a_cue({"101": {"Dimmer": 60}}, block=True)})
    assert found(find_blocks_that_let_through, show) == [
        ("warning", "block-incomplete", "/cue_lists/1/cues/2")
    ]
    assert sentences(find_blocks_that_let_through, show) == [
        "list 1 cue 2: marked block, but these track through it: fixtures 1, 101 (intensity, pan)"
    ]


def test_what_was_released_before_does_not_track_through() -> None:
    released = {"101": {"Pan": {"release": True}, "Dimmer": {"release": True}}}
    show = a_show_of_cues(
        {"1": a_cue(BOTH), "2": a_cue(released), "3": a_cue({"1": {"Dimmer": 50}}, block=True)}
    )
    assert found(find_blocks_that_let_through, show) == []


def test_what_comes_after_the_block_cue_is_not_its_business_and_parts_count() -> None:
    part = {"2": {"levels": {"101": BOTH["101"]}}}
    show = a_show_of_cues(
        {
            "10": a_cue({"2": {"Dimmer": 1}}),
            "9": a_cue({"1": {"Dimmer": 5}}, parts=part, block=True),
            "2": a_cue(BOTH),
        }
    )
    assert found(find_blocks_that_let_through, show) == []


def test_a_list_that_does_not_track_has_nothing_to_block() -> None:
    show = a_show_of_cues({"1": a_cue(BOTH), "2": a_cue(block=True)})
    show["cue_lists"]["1"]["tracking"] = False
    assert found(find_blocks_that_let_through, show) == []
