"""A programmer saves, and the real watcher keeps: in real folders with real events."""

import hashlib
import os
import re
import signal
import sys
import time

import pytest

from tests.stories.desk import PATIENCE

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="stops by a signal")


def sha(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def test_ready_means_that_what_was_saved_before_is_safe(desk, play):
    desk.save("play.json", play)
    with desk.watching() as watcher:
        assert watcher.events[-1]["time"]
        assert desk.versions()[0]["files"][0]["sha256"] == sha(play)


@pytest.mark.parametrize("save", ["save", "save_by_rename"])
def test_a_save_is_kept_once_and_is_safe_when_it_is_said(desk, play, edited, save):
    desk.save("play.json", play)
    with desk.watching() as watcher:
        path = getattr(desk, save)("play.json", edited(61))
        kept = watcher.wait_for("kept")
        assert kept["sha256"] == sha(edited(61))
        assert kept["path"] == str(path)
        assert "cue 4" in kept["summary"]
        assert desk.restored(kept["number"]) == edited(61)
        watcher.stop()
    assert [one["number"] for one in watcher.named("kept") if one["number"] > kept["number"]] == []
    assert [version["number"] for version in desk.versions()] == [2, 1]


def test_a_half_written_save_is_set_aside_and_the_next_whole_one_kept(desk, play, edited):
    desk.save("play.json", play)
    with desk.watching() as watcher:
        half = edited(61)[:20_000]
        desk.save("play.json", half)
        aside = watcher.wait_for("set_aside")
        assert aside["reason"] and aside["path"].endswith("play.json")
        assert desk.restored(aside["number"]) == half
        assert desk.restored("latest") == play
        desk.save("play.json", edited(61))
        assert watcher.wait_for("kept")["sha256"] == sha(edited(61))
    assert [version["good"] for version in desk.versions()] == [True, False, True]
    assert [path.read_bytes() for path in desk.ring()] == [play, edited(61)]


def test_a_save_in_pieces_is_kept_as_it_ends(desk, play, edited):
    desk.save("play.json", play)
    with desk.watching() as watcher:
        data = edited(62)
        with (desk.shows / "play.json").open("wb") as file:
            for start in range(0, len(data), 4096):
                file.write(data[start : start + 4096])
                file.flush()
        kept = watcher.wait_for("kept")
        assert kept["sha256"] == sha(data)
        assert watcher.named("set_aside") == []


def test_a_save_made_while_nobody_watched_is_found_at_the_start(desk, play, edited):
    with desk.watching() as watcher:
        desk.save("play.json", play)
        watcher.wait_for("kept")
    desk.save("play.json", edited(63))
    with desk.watching():
        assert desk.restored("latest") == edited(63)


def test_snapshot_label_and_restore_work_beside_the_watcher(desk, play, edited):
    path = desk.save("play.json", play)
    with desk.watching() as watcher:
        desk.save("play.json", edited(64))
        number = watcher.wait_for("kept")["number"]
        desk.do("label", str(number), "beside")
        desk.do("snapshot", path, "--note", "by hand")
        desk.do("restore", "1")
        assert path.read_bytes() == play
        desk.save("play.json", edited(65))
        assert watcher.wait_for("kept")["sha256"] == sha(edited(65))
    sums = [version["files"][0]["sha256"] for version in desk.versions()]
    assert sums == [sha(edited(65)), sha(play), sha(edited(64)), sha(play)]


def test_a_second_watcher_is_refused_and_told_who_watches(desk, play):
    desk.save("play.json", play)
    with desk.watching() as watcher:
        second = desk.run("watch", desk.shows, "--vault", desk.vault, "--format", "json")
        assert second.code == 5
        assert str(watcher.process.pid) in second.err
        desk.save("play.json", play + b"\n")
        watcher.wait_for("kept")


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_watcher_that_is_stopped_ends_well_and_loses_nothing_it_reported(
    desk, play, edited, number
):
    desk.save("play.json", play)
    with desk.watching() as watcher:
        for level in (61, 62):
            desk.save("play.json", edited(level))
            watcher.wait_for("kept")
        desk.save("play.json", edited(63))
        assert watcher.stop(number) == 0
    listed = {version["number"]: version["files"][0]["sha256"] for version in desk.versions()}
    for kept in watcher.named("kept"):
        assert listed[kept["number"]] == kept["sha256"]
    with desk.watching():
        assert desk.restored("latest") == edited(63)


def test_a_killed_watcher_leaves_a_vault_that_the_next_one_takes_over(desk, play, edited):
    desk.save("play.json", play)
    with desk.watching() as watcher:
        desk.save("play.json", edited(61))
        kept = watcher.wait_for("kept")
        watcher.process.kill()
        watcher.process.wait(PATIENCE)
    with desk.watching() as watcher:
        assert desk.restored(kept["number"]) == edited(61)
        desk.save("play.json", edited(62))
        watcher.wait_for("kept")


def test_keep_sets_how_many_lie_in_the_ring(desk, play, edited):
    desk.save("play.json", play)
    with desk.watching("--keep", "2") as watcher:
        for level in (61, 62, 63):
            desk.save_by_rename("play.json", edited(level))
            watcher.wait_for("kept")
    assert [path.read_bytes() for path in desk.ring()] == [edited(62), edited(63)]


@pytest.mark.parametrize("keep", ["0", "-1", "many"])
def test_a_ring_of_nothing_is_refused(desk, keep):
    answer = desk.run("watch", desk.shows, "--vault", desk.vault, "--keep", keep)
    assert answer.code == 2


def test_status_says_that_the_show_is_protected_and_the_folder_stays_clean(desk, play):
    desk.save("play.json", play)
    with desk.watching():
        assert desk.do("status").out
    assert [path.name for path in desk.shows.iterdir()] == ["play.json"]


def test_a_folder_that_goes_and_comes_back_is_no_deletion(desk, play, edited):
    desk.save("play.json", play)
    away = desk.root / "away"
    with desk.watching() as watcher:
        desk.shows.rename(away)
        assert desk.restored("latest") == play
        away.rename(desk.shows)
        desk.save("play.json", edited(66))
        assert watcher.wait_for("kept")["sha256"] == sha(edited(66))


def test_polling_keeps_a_save_as_well(desk, play, edited):
    desk.save("play.json", play)
    with desk.watching("--poll") as watcher:
        desk.save("play.json", edited(67))
        assert watcher.wait_for("kept")["sha256"] == sha(edited(67))


def test_a_folder_that_stays_away_is_told_and_told_again_when_it_is_back(desk, play, edited):
    """As when a stick is pulled and put back: nothing is taken for a deletion."""
    desk.save("play.json", play)
    away = desk.root / "away"
    with desk.watching("--poll") as watcher:
        desk.shows.rename(away)
        watcher.wait_for("folder_away")
        status = desk.run("status", "--vault", desk.vault, cwd=desk.root)
        assert (status.code, "NOT" in status.out) == (1, True)
        away.rename(desk.shows)
        watcher.wait_for("folder_back")
        desk.save("play.json", edited(68))
        assert watcher.wait_for("kept")["sha256"] == sha(edited(68))
    assert [version["number"] for version in desk.versions()] == [2, 1]


def test_a_desk_file_saved_without_its_export_is_kept_and_status_says_what_is_not_described(
    desk, play
):
    export = desk.save("play.json", play)
    desk_file = desk.save("play.desk", b"\x07" * 4000)
    hours_ago = time.time() - 2 * 3600
    for path in (export, desk_file):
        os.utime(path, (hours_ago, hours_ago))
    with desk.watching() as watcher:
        desk.save("play.desk", b"\x08" * 4000)
        assert watcher.wait_for("kept")["sha256"] == sha(b"\x08" * 4000)
        assert desk.restored_file("latest", "play.desk") == b"\x08" * 4000
        assert re.search(r"\b2 h\b.* not described", desk.do("status").out)
    assert desk.restored("latest") == play


def test_on_a_terminal_one_line_stays_and_the_save_is_told_above_it(desk, play, edited):
    desk.save("play.json", play)
    with desk.watching_on_a_terminal() as terminal:
        terminal.read_until("version 1")
        desk.save("play.json", edited(69))
        said = terminal.read_until("version 2")
        assert "cue 4" in terminal.read_until("cue 4", already=said)
        assert terminal.interrupt() == 0
    assert desk.restored("latest") == edited(69)
    controls = set(re.findall(r"\x1b[^a-zA-Z]*[a-zA-Z]", terminal.said))
    assert all(re.fullmatch(r"\x1b\[[0-9;]*[mAJ]", control) for control in controls), controls


def test_the_line_that_stays_names_the_version_of_a_restore_by_hand(desk, play, edited):
    desk.save("play.json", play)
    with desk.watching_on_a_terminal() as terminal:
        terminal.read_until("version 1")
        desk.save("play.json", edited(69))
        terminal.read_until("version 2")
        desk.do("restore", "1")
        said = terminal.read_until("last good version 3")
        terminal.read_until("version 1 restored", already=said)
        assert terminal.interrupt() == 0


def test_a_broken_file_found_at_the_start_is_as_loud_as_one_saved_later(desk, play):
    desk.save("play.json", play[:500])
    with desk.watching() as watcher:
        (aside,) = watcher.named("set_aside")
        assert not aside["whole_before"]
    for _ in range(2):  # known by now, and as much of an alarm
        with desk.watching_on_a_terminal() as terminal:
            said = terminal.read_until("all else saved before is safe")
        assert "SET ASIDE" in said and "NOTHING WHOLE OF IT IS PROTECTED YET" in said


def test_ctrl_c_twice_names_the_file_that_is_not_kept_yet(desk, play, edited):
    desk.save("play.json", play)
    with desk.watching() as watcher:
        desk.save("play.json", edited(61)[:500])
        watcher.wait_for("not_readable_yet")
        watcher.process.send_signal(signal.SIGINT)
        watcher.wait_for("finishing")
        assert watcher.stop(signal.SIGINT) == 130
    (stopped,) = watcher.named("stopped")
    assert [os.path.basename(path) for path in stopped["left"]] == ["play.json"]


@pytest.mark.parametrize(("no_color", "coloured"), [("1", False), ("", True)])
def test_colour_is_left_out_where_nobody_wants_it(desk, play, no_color, coloured):
    """NO_COLOR counts when it is set and not empty: https://no-color.org."""
    desk.environment["NO_COLOR"] = no_color
    desk.save("play.json", play[:500])
    with desk.watching_on_a_terminal() as terminal:
        terminal.read_until("not whole")
    assert bool(re.search(r"\x1b\[3[0-7]m", terminal.said)) == coloured
