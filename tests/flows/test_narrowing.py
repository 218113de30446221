import copy
from typing import Any

import pytest

from showvault.compare.differ import compare_shows
from showvault.errors import ShowvaultError
from showvault.flows.narrowing import Narrowing, NoSuchGroupError, NoSuchKindError
from showvault.flows.reviewing import tell
from showvault.report.comparison import comparison_text
from showvault.show.parts import parts_of_file
from tests.builders import a_cue, a_full_show, a_show, a_show_of_cues, as_bytes


def edited() -> tuple[Any, Any]:
    before = {**a_full_show(), "extra": {"saved_at": "then"}}
    after = copy.deepcopy(before)
    cues = after["cue_lists"]["1"]["cues"]
    cues["1"]["levels"]["1"]["Dimmer"] = 40
    cues["2"]["label"] = "Rain"
    cues["2.5"]["levels"]["102"]["Dimmer"]["level"] = 45
    after["groups"]["1.1"]["name"] = "Washes"
    after["extra"] = {"saved_at": "now"}
    return before, after


def narrowed(narrowing: Narrowing) -> list[str]:
    before, after = (parts_of_file(as_bytes(show)) for show in edited())
    comparison = narrowing.apply(compare_shows(before, after), before, after)
    return [f"{change.thing.kind} {change.thing.id}".strip() for change in comparison.changes]


@pytest.mark.parametrize(
    ("narrowing", "kept"),
    [
        (Narrowing(), ["show", "group 1.1", "cue 1", "cue 2", "cue 2.5"]),
        (Narrowing(cues="2-3"), ["cue 2", "cue 2.5"]),
        (Narrowing(kinds=("groups",)), ["group 1.1"]),
        (Narrowing(fixtures="101-103"), ["cue 2.5"]),
        (Narrowing(groups=("1.1",)), ["cue 2.5"]),
        (Narrowing(lists=("1",)), ["cue 1", "cue 2", "cue 2.5"]),
        (Narrowing(cues="1.5-1.9, 2"), ["cue 2"]),
        (Narrowing(cues="list 1 cue 2"), ["cue 2"]),
        (Narrowing(kinds=("patch", "Cue lists")), []),
        (Narrowing(left_out=("extra.saved_at",), kinds=("show",)), []),
    ],
)
def test_a_comparison_is_narrowed_to_what_was_asked_for(narrowing: Narrowing, kept: list[str]):
    assert narrowed(narrowing) == kept


def test_cues_are_kept_of_every_list_that_was_named():
    lists = {number: {"cues": {"2": a_cue(), "3": a_cue()}} for number in ("1", "2", "3")}
    after = copy.deepcopy(lists)
    for held in after.values():
        held["cues"] |= {"2": a_cue(label="x"), "3": a_cue(label="y")}
    one, other = (parts_of_file(as_bytes(a_show(cue_lists=held))) for held in (lists, after))
    narrowing = Narrowing(cues="2", lists=("3", "2"))
    kept = narrowing.apply(compare_shows(one, other), one, other).changes
    assert [(change.thing.list, change.thing.id) for change in kept] == [("2", "2"), ("3", "2")]


def test_a_kind_or_a_group_that_is_not_there_is_said_so():
    with pytest.raises(NoSuchKindError, match="no kind"):
        narrowed(Narrowing(kinds=("lamps",)))
    with pytest.raises(NoSuchGroupError, match="no group 9"):
        narrowed(Narrowing(groups=("9",)))


@pytest.mark.parametrize(
    ("narrowing", "code"),
    [
        (Narrowing(cues="20-12"), 2),
        (Narrowing(cues="preset color 1.3"), 2),
        (Narrowing(cues="abc"), 2),
        (Narrowing(fixtures="abc"), 2),
        (Narrowing(cues="900-910"), 4),
        (Narrowing(fixtures="9999"), 4),
        (Narrowing(lists=("9",)), 4),
        (Narrowing(lists=("9",), cues="1"), 4),
    ],
)
def test_what_neither_show_has_is_never_said_to_be_unchanged(narrowing: Narrowing, code: int):
    with pytest.raises(ShowvaultError) as caught:
        narrowed(narrowing)
    assert caught.value.exit_code == code
    assert caught.value.hint


def test_cues_nobody_edited_that_look_different_are_told_all_the_same():
    before = a_show_of_cues({"1": a_cue({"1": {"Dimmer": 10}}), "2": a_cue({}), "3": a_cue({})})
    after = copy.deepcopy(before)
    after["cue_lists"]["1"]["cues"]["1"]["levels"]["1"]["Dimmer"] = 60
    one, other = parts_of_file(as_bytes(before)), parts_of_file(as_bytes(after))
    whole, narrowing = compare_shows(one, other), Narrowing(cues="2-3")
    told = tell(whole, narrowing.apply(whole, one, other), one, other, narrowing)
    assert told.comparison.changes == ()
    assert told.review is not None
    assert [effect.cue.id for effect in told.review.effects] == ["2", "3"]
    said = comparison_text("old", "new", told, unfolded=False, width=0)
    assert "nothing was edited there, and 2 cues look different" in said


def test_a_narrowed_review_tells_of_the_cues_that_were_asked_for_alone():
    before, after = (parts_of_file(as_bytes(show)) for show in edited())
    whole = compare_shows(before, after)
    narrowing = Narrowing(cues="2.5")
    told = tell(whole, narrowing.apply(whole, before, after), before, after, narrowing)
    assert told.review is not None
    assert [effect.cue.id for effect in told.review.effects] == ["2.5"]
    assert {index for one in told.sentences for index in one.changes} == {0}


@pytest.mark.parametrize(
    ("narrowing", "said"),
    [
        (Narrowing(kinds=("macros",)), "nothing of what was asked for changed (5 other changes)"),
        (
            Narrowing(cues="list 1 cue 1-1.5", called=True),
            "nothing of what was asked for changed (5 other changes)",
        ),
        (
            Narrowing(kinds=("macros",), left_out=("extra.saved_at",)),
            "nothing of what was asked for changed (4 other changes)",
        ),
    ],
)
def test_a_choice_that_leaves_nothing_does_not_say_that_nothing_changed(
    narrowing: Narrowing, said: str
):
    before, after = (parts_of_file(as_bytes(show)) for show in edited())
    whole = compare_shows(before, after)
    told = tell(whole, narrowing.apply(whole, before, after), before, after, narrowing)
    assert comparison_text("old", "new", told, unfolded=False, width=0).startswith(
        f"old → new: {said}"
    )
    alike = tell(compare_shows(before, before), told.comparison, before, before, narrowing)
    assert "nothing changed" in comparison_text("old", "old", alike, unfolded=False, width=0)


def test_what_a_stage_manager_calls_differently_can_be_had_alone():
    before, after = (parts_of_file(as_bytes(show)) for show in edited())
    whole = compare_shows(before, after)
    called = Narrowing(called=True).apply(whole, before, after)
    assert [change.thing.id for change in called.changes] == ["2"]


def test_a_show_that_is_not_understood_is_compared_and_not_reviewed():
    before, after = edited()
    after["cue_lists"]["1"]["cues"]["1"]["fade_in"] = "soon"
    one, other = parts_of_file(as_bytes(before)), parts_of_file(as_bytes(after))
    whole = compare_shows(one, other)
    told = tell(whole, whole, one, other, Narrowing())
    assert told.review is None
    assert "fade" in told.not_reviewed or "list 1 cue 1" in told.not_reviewed
    assert {index for sentence in told.sentences for index in sentence.changes} == set(
        range(len(whole.changes))
    )


def told(narrowing: Narrowing, before: Any, after: Any) -> str:
    one, other = parts_of_file(as_bytes(before)), parts_of_file(as_bytes(after))
    whole = compare_shows(one, other)
    narrowed = tell(whole, narrowing.apply(whole, one, other), one, other, narrowing)
    return comparison_text("old", "new", narrowed, unfolded=False, width=0)


def a_session_with_a_cause_of_its_own_for_each_fixture() -> tuple[Any, Any]:
    """Fixture 1 follows a preset that was edited; fixture 2 was edited in cue 1."""
    levels = {"1": {"Dimmer": {"preset": "Dimmer 1"}}, "2": {"Dimmer": 10}, "3": {"Dimmer": 10}}
    presets = {"Dimmer": {"1": {"name": "Low", "all": {"Dimmer": 20}}}}
    before = a_show_of_cues({"1": a_cue(levels), "2": a_cue({})}, presets=presets)
    after = copy.deepcopy(before)
    after["cue_lists"]["1"]["cues"]["1"]["levels"]["2"]["Dimmer"] = 0
    after["cue_lists"]["1"]["cues"]["1"]["label"] = "Rain"
    after["presets"]["Dimmer"]["1"]["all"]["Dimmer"] = 30
    return before, after


OUTSIDE = "different here by edits that were not asked for"


def test_some_fixtures_alone_are_told_of_and_what_lies_outside_is_named():
    said = told(Narrowing(fixtures="1"), *a_session_with_a_cause_of_its_own_for_each_fixture())
    assert "nothing was edited there, and 2 cues look different" in said
    assert f"{OUTSIDE} (without the filter they are told):\n  Dimmer preset 1 “Low”" in said
    assert "fixture 2" not in said  # it lost its light: that was not asked for
    said = told(Narrowing(fixtures="2"), *a_session_with_a_cause_of_its_own_for_each_fixture())
    assert "fixture 2 no longer lit" in said
    assert OUTSIDE not in said


def test_one_kind_alone_is_told_with_what_its_edits_make_different():
    said = told(
        Narrowing(kinds=("presets",)), *a_session_with_a_cause_of_its_own_for_each_fixture()
    )
    assert "list 1 cues 1, 2: up to 1 of" in said
    assert "fixture 2" not in said and OUTSIDE not in said
    said = told(Narrowing(called=True), *a_session_with_a_cause_of_its_own_for_each_fixture())
    assert "label" in said
    assert "watch first" not in said and "mind:" not in said


def test_a_cue_that_was_edited_and_differs_by_a_preset_too_names_the_preset():
    said = told(Narrowing(cues="1"), *a_session_with_a_cause_of_its_own_for_each_fixture())
    assert f"{OUTSIDE} (without the filter they are told):\n  Dimmer preset 1 “Low”" in said
    assert "fixture 2 intensity 10 → 0 %" in said


def test_a_group_without_its_page_is_answered_with_the_page():
    with pytest.raises(NoSuchGroupError) as caught:
        narrowed(Narrowing(groups=("1",)))
    assert caught.value.hint == "with its page, it is --group 1.1"
    with pytest.raises(NoSuchGroupError) as caught:
        narrowed(Narrowing(groups=("9",)))
    assert "the groups are 1.1" in (caught.value.hint or "")


def test_an_exchanged_fixture_of_which_a_field_is_left_out_is_reviewed_all_the_same():
    before = a_full_show()
    after = copy.deepcopy(before)
    after["fixture_types"]["spare"] = {"modes": {"other": {"channels": []}}}
    after["patch"]["101"].update(type="spare", mode="other")
    said = told(Narrowing(left_out=("type",)), before, after)
    assert "fixture 101" in said


@pytest.mark.parametrize("group", ["1.1.1", "all", ""])
def test_a_group_that_cannot_be_one_is_told_with_those_there_are(group: str):
    full = parts_of_file(as_bytes(a_full_show()))
    with pytest.raises(NoSuchGroupError) as caught:
        Narrowing(groups=(group,)).find_fixtures(full, full)
    assert f"there is no group {group}" in str(caught.value)
    assert caught.value.hint == "the groups are 1.1"


def test_where_there_are_no_groups_none_are_named():
    bare = parts_of_file(as_bytes(a_show()))
    with pytest.raises(NoSuchGroupError) as caught:
        Narrowing(groups=("7",)).find_fixtures(bare, bare)
    assert str(caught.value) == "there is no group 7 in either show"
    assert caught.value.hint is None
