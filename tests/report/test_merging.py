"""What merging says to a person."""

from pathlib import Path

from showvault.flows.placing import Placed
from showvault.report.merging import merged_text
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
    assert lines[-1] == "not written: 1 conflict left to decide"
