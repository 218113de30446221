"""What is told of a merge before anybody loads the result."""

from dataclasses import replace

import pytest

from showvault.compare.sides import SHOW, Side
from showvault.flows.combine import Combined, Input, SpliceError, combine, write_checked
from showvault.merge.conflicts import Conflict, Decide, always, leave_open
from showvault.merge.contents import AsInMine, Written
from showvault.merge.decisions import DecisionsError, by_record, by_sentence, decisions_from
from showvault.merge.merger import Merged
from showvault.show.addressing import Thing
from showvault.show.cutting import CutShow
from showvault.show.parts import cut_file, parts_of
from showvault.show.reading import NotUnderstoodError, NotWholeError
from tests.builders import Tree, a_cue, a_show_of_cues, as_bytes
from tests.merge.three_sides import Edit, cues, edited


def of(base: Tree, mine: Edit, theirs: Edit, decide: Decide = leave_open) -> Combined:
    sides = [base, edited(base, mine), edited(base, theirs)]
    one, other, third = (Input(f"show {n}", as_bytes(side)) for n, side in enumerate(sides))
    return combine(one, other, third, decide)


def amber() -> Tree:
    return a_show_of_cues(
        {
            "1": a_cue({"101": {"Dimmer": 50, "ColorAdd_R": 20}}),
            "2": a_cue({"102": {"Dimmer": 50}}),
            "3": a_cue({"103": {"Dimmer": 50}}),
        },
        presets={"Color": {"1.3": {"name": "Amber", "levels": {"101": {"ColorAdd_R": 80}}}}},
    )


def test_a_preset_put_to_use_by_one_and_edited_by_the_other_meets_on_stage():
    def mine(show):
        cues(show)["2"]["levels"]["101"] = {"ColorAdd_R": {"preset": "Color 1.3"}}

    def theirs(show):
        show["presets"]["Color"]["1.3"]["levels"]["101"]["ColorAdd_R"] = 90

    combined = of(amber(), mine, theirs)
    assert combined.conflicts == ()
    assert [met.cue for met in combined.met] == [Thing("cue", "2", "1"), Thing("cue", "3", "1")]
    (level,) = combined.met[0].levels
    assert (level.fixture, level.mine, level.theirs, level.merged) == (
        "101",
        80_000_000,
        20_000_000,
        90_000_000,
    )


def test_edits_of_two_fixtures_that_show_in_one_cue_are_told_without_levels():
    combined = of(
        amber(),
        lambda show: cues(show)["1"]["levels"]["101"].update(Dimmer=60),
        lambda show: cues(show)["2"]["levels"]["102"].update(Dimmer=70),
    )
    assert [(met.cue.id, met.levels) for met in combined.met] == [("2", ()), ("3", ())]


def test_a_reference_to_what_the_other_side_removed_is_a_new_finding_and_no_conflict():
    def mine(show):
        del show["presets"]["Color"]["1.3"]

    def theirs(show):
        cues(show)["2"]["levels"]["101"] = {"ColorAdd_R": {"preset": "Color 1.3"}}

    combined = of(amber(), mine, theirs)
    assert combined.conflicts == ()
    assert [finding.place for finding in combined.findings if finding.severity == "error"] == [
        "list 1 cue 2, fixture 101 red"
    ]


def test_what_the_check_knew_of_a_side_is_no_new_finding():
    base = edited(amber(), lambda show: cues(show)["1"]["levels"].update({"999": {"Dimmer": 1}}))
    combined = of(
        base,
        lambda show: cues(show)["1"].update(label="A"),
        lambda show: cues(show)["2"].update(label="B"),
    )
    assert combined.findings == ()


def test_fixtures_that_move_are_named_in_a_caution():
    combined = of(
        amber(),
        lambda show: cues(show)["1"].update(label="A"),
        lambda show: cues(show)["2"]["levels"]["102"].update(Dimmer=70),
    )
    assert ("moving", ("102",)) in [(one.hazard, one.fixtures) for one in combined.cautions]


def test_a_show_that_is_not_understood_is_refused_by_name():
    good = Input("evening", as_bytes(amber()))
    bad = Input("morning", as_bytes(edited(amber(), lambda show: show.update(strange=1))))
    with pytest.raises(NotUnderstoodError, match="morning is not understood"):
        combine(good, good, bad, leave_open)


def test_a_file_of_decisions_answers_by_place_or_by_pointer():
    choices = decisions_from({"list 1 cue 1": "theirs", "/cue_lists/1/cues/2": "base"})
    decide = by_record(choices, always("mine"))
    asked = [("list 1 cue 1", "/x"), ("y", "/cue_lists/1/cues/2"), ("z", "/z")]
    conflicts = [Conflict(place, pointer, 1, 2, 3, "") for place, pointer in asked]
    assert [decide(conflict) for conflict in conflicts] == ["theirs", "base", "mine"]


def test_two_conflicts_at_one_place_are_answered_one_by_one():
    sentences = ("fixture 3 overlaps fixture 4", "fixture 3 overlaps fixture 5")
    decide = by_sentence({sentences[0]: "mine", sentences[1]: "theirs"}, leave_open)
    one, other, third = (Conflict("x", "/x", 1, 2, 3, text) for text in (*sentences, "else"))
    assert (decide(one), decide(other), decide(third)) == ("mine", "theirs", None)


def test_the_conflicts_of_a_merge_with_take_added_are_decisions():
    record = {"conflicts": [{"pointer": "/a", "take": "mine"}, {"pointer": "/b"}]}
    assert decisions_from(record) == {"/a": "mine"}


@pytest.mark.parametrize("record", [[], 3, {"list 1 cue 1": "yours"}, {"x": ["mine"]}])
def test_decisions_that_decide_nothing_are_refused(record):
    with pytest.raises(DecisionsError):
        decisions_from(record)


@pytest.mark.parametrize("data", [b"[]", b'{"format": "neutral-show"'])
def test_what_is_no_show_is_refused_by_its_name_before_anything_is_merged(data: bytes):
    sides = [Input("mine.json", as_bytes(amber())), Input("theirs.json", data)]
    with pytest.raises((NotUnderstoodError, NotWholeError), match=r"^theirs\.json is not "):
        combine(sides[0], sides[0], sides[1], leave_open)


def as_it_is(tree: Tree) -> tuple[CutShow, Merged]:
    """A show, and a merge that left it as it is."""
    cut = cut_file(as_bytes(tree), "mine.json")
    side = Side(parts_of(cut))
    return cut, Merged(side.tree(SHOW), {thing: AsInMine(thing) for thing in side.things()}, ())


CUE_1 = Thing("cue", "1", "1")


def test_a_merge_that_left_everything_as_it_is_gives_the_very_bytes():
    cut, merged = as_it_is(amber())
    assert write_checked(cut, merged)[0] == as_bytes(amber())


def test_a_merge_that_reads_back_as_no_sound_show_is_not_written():
    """Whatever it was that went wrong: the file would not load."""
    cut, merged = as_it_is(amber())
    broken = {**merged.things, CUE_1: Written({"fade_in": "three"})}
    with pytest.raises(
        SpliceError, match=r"does not read as it should: .*cue 1, fade in"
    ) as caught:
        write_checked(cut, replace(merged, things=broken))
    assert caught.value.exit_code == 8
    assert "nothing was written" in (caught.value.hint or "")


def test_a_merge_that_reads_back_with_a_thing_nobody_put_there_is_not_written():
    cut, merged = as_it_is(amber())
    stray = {**merged.show, "macros": {"9": {"name": "A stray one"}}}
    with pytest.raises(SpliceError, match="does not read as it should"):
        write_checked(cut, replace(merged, show=stray))
