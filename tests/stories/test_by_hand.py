"""Versions kept, found, named and brought back by hand, through the real command line."""

import hashlib
import json
import shutil
import subprocess

import pytest

from tests.stories.desk import SAMPLES


def test_a_snapshot_is_numbered_and_listed_with_what_other_programs_rely_on(desk, play):
    assert desk.snapshot("play.json", play) == 1
    (version,) = desk.versions()
    assert version["number"] == 1
    assert (version["good"], version["understood"], version["label"]) == (True, True, None)
    assert version["who"] and version["time"] and version["summary"]
    (file,) = version["files"]
    assert file["path"].endswith("play.json")
    assert (file["size"], file["sha256"]) == (len(play), hashlib.sha256(play).hexdigest())


def test_the_list_is_newest_first_and_says_what_changed(desk, play, edited):
    desk.snapshot("play.json", play)
    desk.snapshot("play.json", edited(61))
    newest, oldest = desk.versions()
    assert (newest["number"], oldest["number"]) == (2, 1)
    assert "cue 4" in newest["summary"] and "61" in newest["summary"]


def test_the_same_bytes_make_no_second_version(desk, play):
    assert desk.snapshot("play.json", play) == 1
    assert desk.snapshot("play.json", play) == 1
    assert len(desk.versions()) == 1


def test_any_version_comes_back_with_its_very_bytes(desk, play, edited):
    """Tabs, carriage returns and the order of keys are the file's own."""
    odd = json.dumps(dict(reversed(json.loads(play).items())), indent="\t").replace("\n", "\r\n")
    saved = [play, odd.encode(), edited(62), json.dumps(json.loads(play)).encode()]
    numbers = [desk.snapshot("play.json", data) for data in saved]
    assert [desk.restored(number) for number in numbers] == saved


def test_a_restore_keeps_what_it_replaces_and_restore_previous_undoes_it(desk, play, edited):
    path = desk.save("play.json", play)
    desk.do("snapshot", path)
    desk.snapshot("play.json", edited(63))
    unsaved = edited(64)
    desk.save("play.json", unsaved)
    desk.do("restore", "1")
    assert path.read_bytes() == play
    desk.do("restore", "previous")
    assert path.read_bytes() == unsaved


def test_a_restore_is_itself_a_version(desk, play, edited):
    desk.snapshot("play.json", play)
    desk.snapshot("play.json", edited(63))
    desk.do("restore", "1")
    newest = desk.versions()[0]
    assert newest["number"] == 3
    assert newest["files"][0]["sha256"] == hashlib.sha256(play).hexdigest()


def test_a_deleted_show_folder_comes_back_under_its_own_name(desk, play):
    desk.snapshot("play.json", play)
    shutil.rmtree(desk.shows)
    desk.shows.mkdir()
    desk.do("restore", "latest")
    assert (desk.shows / "play.json").read_bytes() == play


def test_a_label_names_a_version_whatever_its_text(desk, play, edited):
    desk.snapshot("play.json", play)
    name = 'second preview – "Ümlaut" <b>; rm'
    desk.do("label", "latest", name)
    desk.snapshot("play.json", edited(65))
    assert desk.versions()[1]["label"] == name
    assert desk.restored(name) == play


def test_a_snapshot_takes_label_note_and_name_of_whoever_made_it(desk, play):
    path = desk.save("play.json", play)
    desk.do("snapshot", path, "--label", "locked", "--note", "before the tour", "--who", "Wenna C.")
    (version,) = desk.versions()
    assert (version["label"], version["who"]) == ("locked", "Wenna C.")
    assert "before the tour" in version["note"]


def test_a_name_that_is_taken_says_by_whom_and_the_snapshot_is_kept_all_the_same(
    desk, play, edited
):
    desk.snapshot("play.json", play)
    desk.do("label", "1", "second", "preview")
    path = desk.save("play.json", edited(65))
    answer = desk.run("snapshot", path, "--label", "Second Preview", "--vault", desk.vault)
    assert answer.code == 3
    assert "kept version 2" in answer.out
    assert "already names version 1" in answer.err
    assert "showvault label 1 --remove" in answer.err
    desk.do("label", "1", "--remove", "second", "preview")
    desk.do("label", "2", "second", "preview")
    assert desk.versions()[0]["label"] == "second preview"


def test_a_name_is_one_line_whatever_was_pasted(desk, play, edited):
    desk.snapshot("play.json", play)
    desk.do("label", "latest", "first\n\tpreview\r\n")
    assert desk.versions()[0]["label"] == "first preview"
    desk.snapshot("play.json", edited(65))
    desk.do("restore", "first preview")
    assert desk.versions()[0]["summary"] == "version 1 (first preview) restored"


def test_a_version_is_found_by_the_time_it_was_kept(desk, play):
    """The minute that a list shows is a name for the version kept in it."""
    desk.snapshot("play.json", play)
    minute = desk.versions()[0]["local_time"][:16].replace("T", " ")
    assert desk.restored(minute) == play
    assert desk.restored("2099-01-01 00:00") == play


@pytest.mark.parametrize("asked", ["17", "no such label", "previous", "yesterday 03:00"])
def test_a_version_that_is_not_there_is_answered_with_exit_code_4(desk, play, asked):
    desk.snapshot("play.json", play)
    answer = desk.run("restore", asked, "--vault", desk.vault)
    assert answer.code == 4
    assert "Traceback" not in answer.err and answer.err.startswith("error:")


def test_a_file_that_is_not_whole_is_set_aside_and_hides_nothing(desk, play):
    desk.snapshot("play.json", play)
    half = play[: len(play) // 2]
    path = desk.save("play.json", half)
    answer = desk.run("snapshot", path, "--vault", desk.vault, "--format", "json")
    assert answer.code == 1
    number = answer.json["set_aside"][0]["number"]
    assert desk.restored("latest") == play
    assert desk.restored(number) == half
    newest = desk.versions()[0]
    assert (newest["number"], newest["good"]) == (number, False)
    assert [path.read_bytes() for path in desk.ring()] == [play]
    again = desk.run("snapshot", path, "--vault", desk.vault)
    assert again.code == 1 and "not whole" in again.out


@pytest.mark.parametrize(
    ("named", "data"),
    [
        ("a byte order mark", b"\xef\xbb\xbf" + b'{"format": "neutral-show", "format_version": 1}'),
        ("UTF-16", '{"format": "neutral-show", "format_version": 1}'.encode("utf-16")),
        ("an unknown key", b'{"format": "neutral-show", "format_version": 1, "laser": 1}'),
        (
            "a key twice",
            b'{"format": "neutral-show", "format_version": 1, "title": "a", "title": "b"}',
        ),
        ("a newer version", b'{"format": "neutral-show", "format_version": 2}'),
        (
            "a cue of four decimals",
            b'{"format": "neutral-show", "format_version": 1, "cue_lists": '
            b'{"1": {"cues": {"1.2345": {}}}}}',
        ),
        (
            "an exploding number",
            b'{"format": "neutral-show", "format_version": 1, "notes": 1' + b"0" * 400 + b"}",
        ),
        (
            "a lone surrogate",
            b'{"format": "neutral-show", "format_version": 1, "title": "\\ud800"}',
        ),
        ("NaN", b'{"format": "neutral-show", "format_version": 1, "title": NaN}'),
    ],
)
def test_a_whole_file_that_is_not_understood_is_kept_and_restorable(desk, named, data):
    number = desk.snapshot("show.json", data)
    (version,) = desk.versions()
    assert version["good"] is True
    assert desk.restored(number) == data
    assert [path.read_bytes() for path in desk.ring()] == [data]


@pytest.mark.parametrize("data", [b"", b"\0" * 512, b"{", b'{"format": "neutral-show"'])
def test_a_file_without_its_end_is_never_the_newest_good_version(desk, play, data):
    desk.snapshot("play.json", play)
    path = desk.save("play.json", data)
    answer = desk.run("snapshot", path, "--vault", desk.vault)
    assert answer.code == 1 and "Traceback" not in answer.err
    assert desk.restored("latest") == play


def test_nothing_is_written_beside_the_show(desk, play):
    desk.snapshot("play.json", play)
    desk.run("status", "--vault", desk.vault)
    assert [path.name for path in desk.shows.iterdir()] == ["play.json"]


def test_without_an_option_the_vault_lies_in_the_data_folder_and_is_found_again(desk, play):
    path = desk.save("play.json", play)
    assert desk.run("snapshot", path).code == 0
    listed = desk.run("list", "--format", "json")
    assert [version["number"] for version in listed.json] == [1]
    assert [path.name for path in desk.shows.iterdir()] == ["play.json"]


def test_status_says_that_nobody_watches(desk, play):
    desk.snapshot("play.json", play)
    answer = desk.run("status", "--vault", desk.vault)
    assert answer.code == 1
    assert answer.out and not answer.err


def test_the_vault_is_an_ordinary_git_repository(desk, play, edited):
    for level in (51, 52, 53):
        desk.snapshot("play.json", edited(level))
    desk.git("fsck", "--strict")
    assert desk.git("rev-list", "--count", "main").strip() == "3"
    assert "cue 4" in desk.git("log", "-1", "--format=%B", "main")
    author, when = desk.git("log", "-1", "--format=%an|%at", "main").strip().split("|")
    assert author and int(when) > 1_700_000_000


def test_a_clone_of_the_vault_is_whole(desk, play, tmp_path):
    desk.snapshot("play.json", play)
    clone = tmp_path / "clone"
    subprocess.run(
        ["git", "clone", "--quiet", str(desk.vault / "history.git"), str(clone)],
        check=True,
        env=desk.environment,
    )
    parts = b"".join(path.read_bytes() for path in clone.rglob("*") if path.is_file())
    assert b"Maddoc comes down" in parts


def test_the_ring_holds_the_newest_as_plain_files(desk, edited):
    """Eight unless it is set otherwise, and one an hour: the newest of this hour is among them."""
    for level in range(31, 41):
        desk.snapshot("play.json", edited(level))
    ring = desk.ring()
    assert [path.read_bytes() for path in ring] == [edited(level) for level in range(33, 41)]
    assert all(path.name.endswith("play.json") for path in ring)


def test_a_show_saved_under_ever_new_names_is_one_history(desk, play, edited):
    for name, level in [("play v12.json", 41), ("play v13.json", 42), ("play v14.json", 43)]:
        desk.save(name, edited(level))
        desk.do("snapshot", desk.shows)
    assert [version["number"] for version in desk.versions()] == [3, 2, 1]
    assert desk.restored("latest") == edited(43)
    assert desk.restored("previous") == edited(42)


def test_a_desks_own_file_is_kept_in_the_same_version(desk, play):
    opaque = bytes(range(256)) * 64
    desk.save("play.json", play)
    desk.save("play.desk", opaque)
    desk.do("snapshot", desk.shows)
    (version,) = desk.versions()
    assert {file["name"]: file["size"] for file in version["files"]} == {
        "play.json": len(play),
        "play.desk": len(opaque),
    }
    target = desk.root / "back.desk"
    answer = desk.do("restore", "1", "--file", "play.desk", "--to", target)
    assert target.read_bytes() == opaque
    assert "only" not in answer.err
    answer = desk.do("restore", "1", "--to", desk.root / "back.json")
    assert "only play.json was written; version 1 also holds play.desk" in answer.err


@pytest.mark.parametrize("sample", sorted(path.name for path in SAMPLES.glob("*.json")))
def test_every_sample_show_comes_back_byte_for_byte(desk, sample):
    data = (SAMPLES / sample).read_bytes()
    path = desk.save(sample, data)
    answer = desk.run("snapshot", path, "--vault", desk.vault, "--format", "json")
    assert answer.code == (1 if sample == "half_written.json" else 0)
    assert desk.restored(answer.json["number"]) == data
