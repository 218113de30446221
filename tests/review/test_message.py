"""A version's message. No source: our own wording."""

import copy
from pathlib import Path

from showvault.compare.differ import compare_shows
from showvault.review.message import describe_review, say_headline
from showvault.review.review import review_shows
from showvault.review.summary import WIDTH
from showvault.show.assembling import decode_parts
from showvault.show.parts import parts_of_file
from tests.builders import a_full_show, as_bytes

SAMPLES = Path(__file__).parents[2] / "sample_shows"


def review_of(one, other):
    before, after = parts_of_file(one), parts_of_file(other)
    return review_shows(decode_parts(before), decode_parts(after), compare_shows(before, after))


def test_the_line_counts_what_looks_and_plays_differently():
    before = a_full_show()
    after = copy.deepcopy(before)
    cues = after["cue_lists"]["1"]["cues"]
    cues["1"]["levels"]["1"]["Dimmer"] = 40
    cues["2.5"]["fade_in"] = 9
    line = say_headline(review_of(as_bytes(before), as_bytes(after)))
    assert line.startswith("3 cues look different, 1 plays differently: list 1 cue 1: fixture 1")
    assert len(line) <= WIDTH


def test_a_session_that_changes_no_stage_is_summed_up_by_its_things():
    before = a_full_show()
    after = copy.deepcopy(before)
    after["cue_lists"]["1"]["cues"]["2"]["label"] = "Rain"
    line = say_headline(review_of(as_bytes(before), as_bytes(after)))
    assert line == "list 1 cue 2: label “Storm breaks” → “Rain”"


def test_nothing_changed_is_said_so():
    same = as_bytes(a_full_show())
    assert describe_review(review_of(same, same)) == "nothing changed"


def test_a_message_is_no_longer_than_asked_for():
    names = ("harvest_musical_evening.json", "harvest_musical_morning.json")
    one, other = ((SAMPLES / name).read_bytes() for name in names)
    lines = describe_review(review_of(one, other), most=20).splitlines()
    assert len(lines) == 23  # the line, a blank one, twenty, and how many more
    assert lines[-1].startswith("and ")
    assert all(len(line) == len(" ".join(line.split())) for line in lines)


def test_cues_that_differ_in_the_dark_are_counted_apart():
    before = a_full_show()
    after = copy.deepcopy(before)
    after["cue_lists"]["1"]["cues"]["2"]["levels"].setdefault("102", {})["Pan"] = 70
    line = say_headline(review_of(as_bytes(before), as_bytes(after)))
    assert line == (
        "1 cue looks different, 1 differs in the dark: list 1 cue 2: fixture 102 position now "
        "stored (pan now stored: 70 %)…"
    )
