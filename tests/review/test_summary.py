"""A comparison told shortly: nothing left out of the sentences, nothing added to them."""

import copy

from showvault.compare.changes import Comparison
from showvault.review.summary import (
    NOTHING_CHANGED,
    WIDTH,
    count_changed,
    describe,
    fold_changes,
    say_comparison,
    summarise,
)
from tests.builders import Tree, a_cue, a_list, a_show
from tests.compare.pairs import comparison_of


def a_show_of_washes() -> Tree:
    cues = {
        str(number): a_cue({str(fixture): {"Dimmer": 50} for fixture in range(101, 109)})
        for number in range(1, 6)
    }
    return a_show(title="Night", cue_lists={"1": a_list(cues)})


def edited() -> Comparison:
    before = a_show_of_washes()
    after = copy.deepcopy(before)
    for number in ("2", "3", "4"):
        for fixture in ("101", "102", "103", "105"):
            after["cue_lists"]["1"]["cues"][number]["levels"][fixture]["Dimmer"] = 65
    after["cue_lists"]["1"]["cues"]["5"]["fade_in"] = 9
    return comparison_of(before, after)


def test_equal_values_in_neighbouring_fixtures_and_cues_are_one_sentence():
    assert say_comparison(edited()) == [
        "list 1 cues 2–4: fixtures 101–103, 105 intensity 50 → 65 %",
        "list 1 cue 5: fade in 3 → 9 s",
    ]


def test_a_run_of_fixtures_whose_type_and_mode_were_exchanged_is_one_sentence():
    before, after = (
        a_show(patch={str(n): {"type": kind, "mode": mode} for n in range(101, 109)})
        for kind, mode in (("wash", "16 bit"), ("spot", "9 bit"))
    )
    assert say_comparison(comparison_of(before, after)) == [
        "fixtures 101–108: type wash → spot, mode 16 bit → 9 bit"
    ]


def test_every_change_is_told_in_exactly_one_sentence():
    told = [change for _, changes in fold_changes(edited()) for change in changes]
    assert sorted(map(repr, told)) == sorted(map(repr, edited().changes))


def test_the_line_of_a_version_counts_and_names_and_is_short():
    line = summarise(edited())
    assert line == (
        "4 cues: list 1 cues 2–4: fixtures 101–103, 105 intensity 50 → 65 %; "
        "list 1 cue 5: fade in 3 → 9 s"
    )
    assert len(line) <= WIDTH


def test_what_changed_is_counted_in_the_order_of_a_show_every_time():
    after = a_show_of_washes() | {
        "groups": {"1": {"fixtures": [101]}},
        "curves": {"1": {"points": [[0, 0], [100, 100]]}},
        "macros": {"1": {"steps": ["clear"]}},
        "submasters": {"1": {}},
        "playbacks": {"1": {}},
        "effects": {"1": {}},
    }
    counted = count_changed(comparison_of(a_show_of_washes(), after))
    assert counted == "1 curve, 1 group, 1 effect, 1 macro, 1 submaster, 1 playback"


def test_one_cue_of_a_run_that_moved_is_told_without_a_span():
    before, after = a_show_of_washes(), a_show_of_washes()
    cues = after["cue_lists"]["1"]["cues"]
    for number in "45":
        cues[f"1{number}"] = cues.pop(number) | {"label": number}
        before["cue_lists"]["1"]["cues"][number]["label"] = number
    moved = comparison_of(before, after).changes
    assert say_comparison(Comparison(moved)) == ["list 1 cues 4–5 became 14–15 (2)"]
    assert say_comparison(Comparison(moved[:1])) == ["list 1 cue 4 became cue 14"]


def test_one_change_is_its_own_line():
    before = a_show(title="Night")
    assert summarise(comparison_of(before, a_show(title="Day"))) == (
        "the show: title “Night” → “Day”"
    )


def test_text_of_the_show_never_breaks_the_line():
    line = summarise(comparison_of(a_show(title="a"), a_show(title="b\n\nSigned-off-by: me")))
    assert "\n" not in line


def test_no_change_is_said_so():
    assert summarise(Comparison()) == NOTHING_CHANGED


def test_a_message_has_the_line_and_the_sentences_under_it():
    assert describe(edited(), most=1).splitlines() == [
        "4 cues: list 1 cues 2–4: fixtures 101–103, 105 intensity 50 → 65 %; "
        "list 1 cue 5: fade in 3 → 9 s",
        "",
        "list 1 cues 2–4: fixtures 101–103, 105 intensity 50 → 65 %",
        "and 1 more",
    ]
