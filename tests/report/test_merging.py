"""What merging says to a person."""

from pathlib import Path

from showvault.compare.differ import compare_shows
from showvault.flows.placing import Placed
from showvault.flows.undo import choose_changes, undo
from showvault.merge.conflicts import always, leave_open
from showvault.report.merging import brought_text, merged_text, undone_text
from showvault.show.parts import parts_of_file
from tests.builders import Tree, a_cue, a_show_of_cues, as_bytes
from tests.flows.test_bring_back import back, current_show
from tests.flows.test_combine import amber, of
from tests.merge.three_sides import cues


def test_cues_that_look_as_neither_side_left_them_are_told_in_plain_words():
    def mine(show):
        cues(show)["2"]["levels"]["101"] = {"ColorAdd_R": {"preset": "Color 1.3"}}

    def theirs(show):
        show["presets"]["Color"]["1.3"]["levels"]["101"]["ColorAdd_R"] = 90

    lines = merged_text(of(amber(), mine, theirs), Placed(Path("tonight.json"))).splitlines()
    at = lines.index("cues that look as neither of you left them (what each edited meets in them):")
    assert lines[at + 1] == "  list 1 cue 2: fixture 101 red 90 % (mine 80 %, theirs 20 %)"
    assert lines[-1] == "tonight.json: merged and written"


def test_what_is_left_to_decide_is_said_last():
    def labelled(label):
        return lambda show: cues(show)["1"].update(label=label)

    lines = merged_text(of(amber(), labelled("A"), labelled("B")), None).splitlines()
    assert lines[0].startswith("conflict: list 1 cue 1: mine: ")
    assert lines[-1] == (
        "not written: 1 conflict left to decide "
        "(--ask asks for each, --take and --decisions answer them)"
    )


def test_who_decided_is_said_before_what_was_decided():
    def labelled(label):
        return lambda show: cues(show)["1"].update(label=label)

    said = merged_text(of(amber(), labelled("A"), labelled("B"), always("theirs")), None)
    assert said.startswith("decided for theirs: list 1 cue 1: mine: label")


def test_cues_that_are_brought_back_together_are_named_as_ranges():
    cues_then = {str(n): a_cue({"101": {"Dimmer": n}}) for n in range(1, 6)}
    cues_now = {**cues_then, "3": a_cue({"101": {"Dimmer": 90}})}
    said = brought_text(back(a_show_of_cues(cues_then), "cue 1-4", a_show_of_cues(cues_now)), None)
    assert said.splitlines()[0] == "brought back: list 1 cues 1–4"


def panned(level: float) -> Tree:
    """Fixture 101 lit, its pan of −270 to 270 degrees at a level in percent."""
    return a_show_of_cues({"1": a_cue({"101": {"Dimmer": 50, "Pan": level}})})


def pan(level: float):
    return lambda show: cues(show)["1"]["levels"]["101"].update(Pan=level)


def test_what_is_brought_back_is_said_in_the_unit_in_which_it_is_compared():
    said = brought_text(back(panned(25), "cue 1", panned(40)), None)
    assert "  list 1 cue 1: fixture 101 pan −54° → −135°" in said.splitlines()


def test_what_is_undone_is_said_in_the_unit_in_which_it_is_compared():
    whole = compare_shows(parts_of_file(as_bytes(panned(25))), parts_of_file(as_bytes(panned(40))))
    chosen = choose_changes(whole, (), 7)
    undone = undo(as_bytes(panned(40)), chosen, current_show(panned(40)), leave_open)
    assert undone_text(undone, [1]).splitlines()[:3] == [
        "undo 1: list 1 cue 1: fixture 101 pan −135° → −54°",
        "looks different:",
        "  list 1 cue 1: fixture 101 pan −54° → −135°",
    ]


def test_a_conflict_is_said_in_the_unit_in_which_it_is_compared():
    line = merged_text(of(panned(25), pan(40), pan(75)), None).splitlines()[0]
    assert line == (
        "conflict: list 1 cue 1: mine: fixture 101 pan −135° → −54°; "
        "theirs: fixture 101 pan −135° → 135°"
    )
