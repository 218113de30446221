"""Places as JSON Pointers and in trade words."""

import pytest

from showvault.show.places import pointer_to, say_pointer

# RFC 6901, section 5: the worked example; each pointer with the path that it evaluates along.
RFC_6901 = [
    ([], ""),
    (["foo"], "/foo"),
    (["foo", "0"], "/foo/0"),
    ([""], "/"),
    (["a/b"], "/a~1b"),
    (["c%d"], "/c%d"),
    (["e^f"], "/e^f"),
    (["g|h"], "/g|h"),
    (["i\\j"], "/i\\j"),
    (['k"l'], '/k"l'),
    ([" "], "/ "),
    (["m~n"], "/m~0n"),
]


@pytest.mark.parametrize(("path", "pointer"), RFC_6901)
def test_pointers_are_those_of_the_standard(path: list[str], pointer: str) -> None:
    assert pointer_to(path) == pointer


def test_a_tilde_before_a_one_does_not_become_a_slash() -> None:
    """RFC 6901, section 4: "~01" is "~1" and never "/"."""
    assert pointer_to(["~1"]) == "/~01"


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ("", "the show"),
        ("title", "title"),
        ("capacity/slots_per_page", "capacity, slots per page"),
        ("cue_lists/1", "list 1"),
        ("cue_lists/1/dark_moves", "list 1, dark moves"),
        ("cue_lists/1/cues/12.5", "list 1 cue 12.5"),
        ("cue_lists/1/cues/12.5/fade_in", "list 1 cue 12.5, fade in"),
        (
            "cue_lists/1/cues/12.5/levels/101.2/Dimmer/fade",
            "list 1 cue 12.5, fixture 101 cell 2 intensity, fade",
        ),
        (
            "cue_lists/1/cues/12.5/parts/2/levels/7/Pan",
            "list 1 cue 12.5 part 2, fixture 7 pan",
        ),
        ("cue_lists/1/cues/12.5/parts/2", "list 1 cue 12.5 part 2"),
        ("cue_lists/1/cues/5/effects/1.4/rate", "list 1 cue 5, effect page 1 slot 4, rate"),
        ("cue_lists/1/cues/5/also_go/0", "list 1 cue 5, also go 1"),
        ("presets/Color/1.3/levels/101/ColorAdd_R", "Color preset page 1 slot 3, fixture 101 "
         "red"),
        ("presets/Color/1.3/types/wash/ColorAdd_B", "Color preset page 1 slot 3, type wash blue"),
        ("patch/101/addresses/1/universe", "fixture 101, start address 2, universe"),
        (
            "fixture_types/wash/modes/8/channels/0/functions/2/from",
            "fixture type wash, mode 8, channel 1, function 3, from",
        ),
        ("fixture_types/wash/modes/8/cells/2/channels/0", "fixture type wash, mode 8, cell 2, "
         "channel 1"),
        ("groups/1.1/fixtures/4", "group page 1 slot 1, member 5"),
        ("macros/3/steps/0", "macro 3, step 1"),
        ("curves/2/points/0", "curve 2, point 1"),
        ("playbacks/1.1/cue_list", "playback page 1 slot 1, cue list"),
        ("submasters/3/mode", "submaster 3, mode"),
    ],
)  # fmt: skip
def test_places_are_said_in_trade_words(path: str, words: str) -> None:
    assert say_pointer(path.split("/") if path else []) == words
