"""Work put together, one thing brought back, one edit undone: the real command line."""

import json
import os
import subprocess
import sys
from typing import Any

import pytest

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


def test_what_stands_where_a_merged_show_goes_is_a_version_first(desk: Desk, play: bytes):
    first = desk.snapshot("show.json", play)
    mine = desk.snapshot("show.json", play_with(play, "4", label="Thunder"))
    theirs = desk.save("theirs.json", play_with(play, "5", fade_in=8))
    unsaved = play_with(play, "4", label="Not kept yet")
    out = desk.save("show.json", unsaved)
    told = desk.ask("merge", str(first), str(mine), theirs, "--to", out)
    assert told["replaced"] == [mine + 1]
    assert desk.restored(mine + 1) == unsaved
    assert (told["written"], told["number"]) == (True, mine + 2)
    assert desk.restored(mine + 2) == out.read_bytes()
    desk.do("restore", "previous")
    assert out.read_bytes() == unsaved


def test_a_file_outside_the_show_is_kept_too_before_a_merged_show_takes_its_place(
    desk: Desk, play: bytes
):
    first = desk.snapshot("show.json", play)
    out = desk.root / "notes.csv"
    out.write_bytes(b"written by hand")
    told = desk.ask("merge", str(first), str(first), str(first), "--to", out)
    (number,) = told["replaced"]
    assert desk.restored_file(str(number), "notes.csv") == b"written by hand"


def test_the_name_of_the_merged_file_says_its_format_and_what_that_cannot_hold_is_told(
    desk: Desk, play: bytes
):
    base = desk.save("base.json", play)
    mine = desk.save("mine.json", play_with(play, "4", label="Thunder"))
    theirs = desk.save("theirs.json", play_with(play, "5", fade_in=8))
    answer = desk.run("merge", base, mine, theirs, "--to", "tonight.asc")
    assert answer.code == 0, answer
    assert (desk.shows / "tonight.asc").read_bytes().startswith(b"IDENT 3:0")
    assert "not held by the file that was written:" in answer.out
    told = desk.run("merge", base, mine, theirs, "--to", "again.asc", "--format", "json").json
    assert "title" in [loss["what"] for loss in told["write_losses"]]
    shown = desk.run("convert", "tonight.asc", "back.json")
    assert shown.code == 0, shown
    back = json.loads((desk.shows / "back.json").read_bytes())["cue_lists"]["1"]["cues"]
    assert (back["4"]["label"], back["5"]["fade_in"]) == ("Thunder", 8)


def test_a_name_that_no_format_has_is_refused_before_anything_is_done(desk: Desk, play: bytes):
    files = [desk.save(name, play) for name in ("base.json", "mine.json", "theirs.json")]
    answer = desk.run("merge", *files, "--to", "tonight.shw")
    assert answer.code == 2
    assert "nothing here writes a file named 'tonight.shw'" in answer.err
    assert ".json" in answer.err
    assert not (desk.shows / "tonight.shw").exists()


def test_without_a_vault_nothing_is_written_over(desk: Desk, play: bytes):
    files = [desk.save(name, play) for name in ("base.json", "mine.json", "theirs.json")]
    answer = desk.run("merge", *files, "--to", files[1])
    assert answer.code == 2
    assert "is there already and no vault keeps it; nothing was written" in answer.err
    assert files[1].read_bytes() == play


def test_one_cue_is_brought_back_and_restore_previous_undoes_that(desk: Desk, play: bytes):
    desk.snapshot("show.json", play)
    edited = play_with(play, "4", label="Thunder", fade_in=77)
    number = desk.snapshot("show.json", edited)
    told = desk.ask("restore", "1", "cue", "4", "--dry-run")
    assert (told["written"], (desk.shows / "show.json").read_bytes()) == (False, edited)
    told = desk.ask("restore", "1", "cue", "4")
    assert (told["asked"], told["number"]) == (["list 1 cue 4"], number + 1)
    assert json.loads((desk.shows / "show.json").read_bytes()) == json.loads(play)
    desk.do("restore", "previous")
    assert (desk.shows / "show.json").read_bytes() == edited


def test_an_unsaved_state_is_a_version_before_it_is_replaced(desk: Desk, play: bytes):
    desk.snapshot("show.json", play)
    desk.save("show.json", play_with(play, "4", label="Not kept yet"))
    told = desk.ask("restore", "1", "cue", "4")
    assert told["replaced"] == [2]
    assert json.loads(desk.restored(2))["cue_lists"]["1"]["cues"]["4"]["label"] == "Not kept yet"


def test_one_edit_of_a_version_is_undone_by_its_number(desk: Desk, play: bytes):
    desk.snapshot("show.json", play)
    desk.snapshot("show.json", play_with(play, "4", label="Thunder", fade_in=77))
    desk.snapshot("show.json", play_with(play, "4", label="Thunder", fade_in=77, notes="later"))
    changes = desk.ask("compare", "1", "2")["changes"]
    wanted = next(n for n, change in enumerate(changes, 1) if change.get("field") == "label")
    told = desk.ask("undo", "2", "--change", str(wanted))
    assert len(told["undone"]) == 1
    was = json.loads(play)["cue_lists"]["1"]["cues"]["4"]
    cue = json.loads((desk.shows / "show.json").read_bytes())["cue_lists"]["1"]["cues"]["4"]
    assert (cue["label"], cue["fade_in"], cue["notes"]) == (was["label"], 77, "later")


def test_what_a_version_changed_is_listed_in_few_sentences_with_their_numbers(
    desk: Desk, play: bytes
):
    show = json.loads(play)
    desk.snapshot("show.json", play)
    for cue in show["cue_lists"]["1"]["cues"].values():
        cue["notes"] = "checked"
    desk.snapshot("show.json", json.dumps(show, indent=2).encode())
    count = len(show["cue_lists"]["1"]["cues"])
    folded = desk.do("undo", "2", "--dry-run").out.splitlines()
    assert folded[0].startswith(f"undo 1–{count}: ")
    unfolded = desk.do("undo", "2", "--dry-run", "--unfold").out.splitlines()
    assert [line.split(":")[0] for line in unfolded[:count]] == [
        f"undo {n}" for n in range(1, count + 1)
    ]
    told = desk.ask("undo", "2", "--change", "2-3,1")
    assert len(told["undone"]) == 3
    for wrong in ("two", "3-1", ""):
        assert desk.run("undo", "2", "--change", wrong, "--vault", desk.vault).code == 2


@pytest.mark.parametrize(("answer", "code"), [("n", 1), ("y", 0)])
def test_on_a_terminal_all_of_a_version_is_undone_only_if_that_is_meant(
    desk: Desk, play: bytes, answer: str, code: int
):
    pty = pytest.importorskip("pty")
    desk.snapshot("show.json", play)
    edited = play_with(play, "4", label="Thunder")
    desk.snapshot("show.json", edited)
    ours, theirs = pty.openpty()
    os.write(ours, f"{answer}\n".encode())
    done = subprocess.run(
        [sys.executable, "-m", "showvault.cli.app", "undo", "2", "--vault", desk.vault],
        stdin=theirs,
        capture_output=True,
        text=True,
        env=desk.environment,
        timeout=120,
    )
    os.close(ours)
    os.close(theirs)
    assert (done.returncode, "undo the one change of version 2?" in done.stderr) == (code, True)
    there = json.loads((desk.shows / "show.json").read_bytes())
    assert there == json.loads(play if answer == "y" else edited)


def test_what_is_so_already_is_not_written_and_no_way_back_is_promised(desk: Desk, play: bytes):
    desk.snapshot("show.json", play)
    before = (desk.shows / "show.json").stat()
    for command in (("restore", "1", "cue", "4"), ("restore", "latest", "cue", "4", "--dry-run")):
        told = desk.do(*command).out
        assert "is so already: nothing had to be written" in told
        assert "restore previous" not in told
    assert (desk.shows / "show.json").stat().st_mtime_ns == before.st_mtime_ns
    assert desk.ask("restore", "1", "cue", "4")["written"] is False


def test_later_edits_that_stand_on_what_is_undone_are_told_and_nothing_is_written(
    desk: Desk, play: bytes
):
    desk.snapshot("show.json", play)
    desk.snapshot("show.json", play_with(play, "4", label="Thunder"))
    newest = play_with(play, "4", label="Lightning")
    desk.snapshot("show.json", newest)
    answer = desk.run("undo", "2", "--vault", desk.vault)
    assert answer.code == 1
    assert "Lightning" in answer.out
    assert (desk.shows / "show.json").read_bytes() == newest


def test_conflicts_are_asked_one_by_one(desk: Desk, play: bytes):
    files = [
        desk.save("base.json", play),
        desk.save("mine.json", play_with(play, "4", label="Thunder", fade_in=1)),
        desk.save("theirs.json", play_with(play, "4", label="Lightning", fade_in=2)),
    ]
    out = desk.shows / "merged.json"
    done = subprocess.run(
        [sys.executable, "-m", "showvault.cli.app", "merge", *files, "--to", out, "--ask"],
        input="mine\ntheirs\n",
        capture_output=True,
        text=True,
        env=desk.environment,
        timeout=120,
    )
    assert done.returncode == 0, done
    cue = json.loads(out.read_bytes())["cue_lists"]["1"]["cues"]["4"]
    assert (cue["fade_in"], cue["label"]) == (1, "Lightning")
