"""The sentences, one for each change; the words are common practice, no source."""

from decimal import Decimal

import pytest
from msgspec import UNSET

from showvault.compare.changes import Added, Changed, Copied, Moved, Removed, Stayed
from showvault.review.values import Scale
from showvault.review.wording import say_change
from showvault.show.addressing import Thing
from tests.builders import Tree

CUE = Thing("cue", "12.5", "1")


def level(before: Tree, after: Tree, attribute: str = "Dimmer") -> str:
    return say_change(Changed(CUE, ("levels", "101", attribute), before, after))


def test_a_level_is_said_in_percent():
    assert level(50, 65) == "list 1 cue 12.5: fixture 101 intensity 50 → 65 %"


def test_a_level_is_said_in_the_unit_of_the_fixture_type():
    pan = Changed(CUE, ("levels", "101", "Pan"), 50, 75)
    scale = Scale(Decimal(-270), Decimal(270), "deg")
    assert say_change(pan, lambda fixture, attribute: scale) == (
        "list 1 cue 12.5: fixture 101 pan 0° → 135°"
    )


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        (50, Decimal("50.001"), "50 → 50.001 %"),
        (Decimal("33.333333"), Decimal("33.333334"), "33.333333 → 33.333334 %"),
        (Decimal("33.333333"), 66, "33.33 → 66 %"),
        (50, {"level": 50}, "50 % → 50 % (written differently)"),
    ],
)
def test_a_change_never_reads_as_none(before: Tree, after: Tree, words: str):
    assert level(before, after).endswith(words)


def test_a_scale_without_a_span_falls_back_to_percent():
    pan = Changed(CUE, ("levels", "101", "Pan"), 50, 75)
    flat = Scale(Decimal(0), Decimal(0), "deg")
    assert say_change(pan, lambda fixture, attribute: flat).endswith("pan 50 → 75 %")


def test_stored_values_are_said_with_their_times():
    after = {"preset": "Color 1.3", "fade": 2, "delay": Decimal("0.5")}
    assert level(40, after, "ColorAdd_R").endswith(
        "red 40 % → Color preset page 1 slot 3 (fade 2 s, delay 0.5 s)"
    )


def test_a_level_that_comes_or_goes_is_said_as_stored_or_not():
    assert level(UNSET, 65).endswith("intensity now stored: 65 %")
    assert level(65, UNSET).endswith("intensity no longer stored (was 65 %)")
    assert level(65, {"release": True}).endswith("intensity 65 % → released")


def test_times_are_said_in_seconds():
    change = Changed(CUE, ("fade_in",), 3, 5)
    assert say_change(change) == "list 1 cue 12.5: fade in 3 → 5 s"


def test_a_time_that_differs_by_a_thousandth_shows_it():
    change = Changed(CUE, ("delay_out",), 1, Decimal("1.001"))
    assert say_change(change).endswith("delay out 1 → 1.001 s")


@pytest.mark.parametrize(
    ("path", "before", "after", "words"),
    [
        (("times", "Position", "fade"), 4, 5, "Position fade 4 → 5 s"),
        (("times", "Position"), UNSET, {"fade": 4}, "Position times none → fade 4 s"),
        (
            ("follow",),
            UNSET,
            {"from": "go", "seconds": Decimal("2.5")},
            "follow none → 2.5 s after the go",
        ),
        (("link",), {"cue": "14"}, {"list": "2", "cue": "1"}, "link cue 14 → list 2 cue 1"),
        (("label",), "A", "B", "label “A” → “B”"),
        (("label",), UNSET, "", "label none → none (written differently)"),
        (("block",), UNSET, True, "block none → yes"),
        (("parts", "2"), UNSET, {"label": "Cyc"}, "part 2 added: “Cyc”"),
        (("parts", "2"), {}, UNSET, "part 2 removed"),
        (
            ("effects", "1.1"),
            {"state": "start", "rate": 1},
            {"state": "stop"},
            "effect page 1 slot 1 start, rate 1 → stop",
        ),
        (("extra", "desk", "page"), 1, 2, "extra desk page 1 → 2"),
    ],
)
def test_fields_of_a_cue_are_said_in_trade_words(path, before: Tree, after: Tree, words: str):
    assert say_change(Changed(CUE, path, before, after)) == f"list 1 cue 12.5: {words}"


def test_members_of_a_group_are_said_as_those_that_came_and_went():
    change = Changed(
        Thing("group", "1.1"), ("fixtures",), [101, 102, 103, 104], [102, 103, 104, 105]
    )
    assert say_change(change) == "group page 1 slot 1: fixtures now without 101 and with 105"


def test_members_in_another_order_are_said_as_that():
    change = Changed(Thing("group", "7"), ("fixtures",), [1, 2, 3], [3, 2, 1])
    assert say_change(change) == "group 7: fixtures now in another order"


def test_channels_that_changed_inside_are_named():
    before = [{"attribute": "Dimmer", "slots": [1]}, {"attribute": "Pan", "slots": [2]}]
    after = [{"attribute": "Dimmer", "slots": [1]}, {"attribute": "Pan", "slots": [2, 3]}]
    change = Changed(Thing("fixture_type", "wash"), ("modes", "8 bit", "channels"), before, after)
    assert say_change(change) == "fixture type wash: mode 8 bit channels: Pan changed"


def test_addresses_are_said_as_universe_and_address():
    change = Changed(
        Thing("fixture", "101"),
        ("addresses",),
        [{"universe": 1, "address": 1}],
        [{"universe": 3, "address": 101, "break": 2}],
    )
    assert say_change(change) == (
        "fixture 101: addresses universe 1 address 1 → universe 3 address 101 (break 2)"
    )


def test_added_and_removed_things_are_said_with_what_they_hold():
    cue = {"label": "Dawn", "levels": {"101": {}, "102": {}, "103": {}}}
    assert say_change(Added(CUE, cue)) == "list 1 cue 12.5 added: “Dawn”, fixtures 101–103"
    fixture = {"type": "wash", "mode": "16 bit"}
    assert say_change(Removed(Thing("fixture", "4"), fixture)) == (
        "fixture 4 removed: wash, 16 bit"
    )


def test_a_moved_thing_is_said_with_the_references_that_followed_and_stayed():
    preset, old = Thing("preset", "Color 1.9"), Thing("preset", "Color 1.3")
    followed = (
        Changed(CUE, ("levels", "1", "A"), {"preset": "Color 1.3"}, {"preset": "Color 1.9"}),
    )
    stayed = (Stayed(Thing("cue", "7", "2"), ("levels", "1", "A", "preset")),)
    assert say_change(Moved(preset, old, followed, stayed)) == (
        "Color preset page 1 slot 3 became page 1 slot 9; followed in list 1 cue 12.5; "
        "still named by the old number in list 2 cue 7"
    )


def test_a_cue_that_went_to_another_list_is_said_with_the_list():
    moved = Moved(Thing("cue", "3", "2"), CUE)
    assert say_change(moved) == "list 1 cue 12.5 moved to list 2 cue 3"


def test_a_copy_is_said_with_its_original():
    copied = Copied(Thing("cue", "13", "1"), CUE, {"label": "Dawn"})
    assert say_change(copied) == "list 1 cue 13 added, a copy of cue 12.5: “Dawn”"
