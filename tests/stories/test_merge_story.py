"""Work put together, one thing brought back, one edit undone: the real command line."""

import json
from typing import Any

from tests.stories.desk import Desk


def play_with(play: bytes, cue: str, **fields: Any) -> bytes:
    show = json.loads(play)
    show["cue_lists"]["1"]["cues"][cue] |= fields
    return json.dumps(show, indent=2).encode()


def test_two_people_edit_one_show_and_both_are_in_the_merged_one(desk: Desk, play: bytes):
    base = desk.save("base.json", json.dumps(json.loads(play), indent=2).encode())
    mine = desk.save("mine.json", play_with(play, "4", label="Thunder"))
    theirs = desk.save("theirs.json", play_with(play, "5", fade_in=8))
    out = desk.shows / "merged.json"
    answer = desk.run("merge", base, mine, theirs, "--to", out)
    assert (answer.code, answer.err) == (0, "")
    assert out.read_bytes() == play_with(play_with(play, "4", label="Thunder"), "5", fade_in=8)


def test_a_conflict_is_listed_and_nothing_is_written_until_somebody_decides(
    desk: Desk, play: bytes
):
    base = desk.save("base.json", play)
    mine = desk.save("mine.json", play_with(play, "4", label="Thunder"))
    theirs = desk.save("theirs.json", play_with(play, "4", label="Lightning"))
    out = desk.shows / "merged.json"
    answer = desk.run("merge", base, mine, theirs, "--to", out, "--format", "json")
    assert answer.code == 1
    assert not out.exists()
    (conflict,) = answer.json["conflicts"]
    assert (conflict["mine"], conflict["theirs"]) == ("Thunder", "Lightning")
    assert answer.json["written"] is False
    decided = desk.save("decided.json", json.dumps({conflict["place"]: "theirs"}).encode())
    answer = desk.run("merge", base, mine, theirs, "--to", out, "--decisions", decided)
    assert answer.code == 0
    assert json.loads(out.read_bytes())["cue_lists"]["1"]["cues"]["4"]["label"] == "Lightning"
