"""What a tired person may rely on: names, times, and refusals that say why."""

import json
import os
import subprocess
import sys
from contextlib import contextmanager
from datetime import datetime, timedelta

import pytest

NO_SHOW = b'{"format": "neutral-show", "format_version": 1, "title": "%s"}'


def test_a_vault_of_a_newer_release_is_refused_and_left_as_it_is(desk, play):
    desk.snapshot("play.json", play)
    record = desk.vault / "vault.json"
    record.write_text(json.dumps(json.loads(record.read_text()) | {"vault_format": 99}))
    before = {path: path.stat().st_mtime_ns for path in desk.vault.rglob("*")}
    for arguments in (["list"], ["snapshot"], ["restore", "latest"], ["watch"]):
        answer = desk.run(*arguments, "--vault", desk.vault)
        assert answer.code == 7, arguments
        assert "newer" in answer.err
    assert {path: path.stat().st_mtime_ns for path in desk.vault.rglob("*")} == before


def test_who_is_asked_for_in_the_option_the_environment_git_and_the_login(desk, edited):
    """The order that the contract gives."""
    desk.environment |= {"LOGNAME": "loginname", "USER": "loginname"}
    desk.snapshot("play.json", edited(1))
    (desk.home / ".gitconfig").write_text(
        '[user]\n\tname = "Git Ottoline"\n\temail = o@x.invalid\n'
    )
    desk.snapshot("play.json", edited(2))
    desk.environment |= {"SHOWVAULT_WHO": "Corin of the environment"}
    desk.snapshot("play.json", edited(3))
    desk.do("snapshot", desk.save("play.json", edited(4)), "--who", "Hob\x1b[31m of the option")
    said = [version["who"] for version in reversed(desk.versions())]
    assert said[:3] == ["loginname", "Git Ottoline", "Corin of the environment"]
    assert "of the option" in said[3]
    assert "\x1b" not in desk.do("list").out


def test_times_are_kept_with_the_offset_of_the_place(desk, play):
    """RFC 3339; Kathmandu is five hours and three quarters ahead of UTC."""
    desk.environment |= {"TZ": "Asia/Kathmandu"}
    desk.snapshot("play.json", play)
    (version,) = desk.versions()
    moment = datetime.fromisoformat(version["time"])
    assert moment.utcoffset() is not None
    local = datetime.fromisoformat(version["local_time"])
    assert local == moment and local.utcoffset() == timedelta(hours=5, minutes=45)
    assert desk.git("log", "-1", "--format=%ai", "main").strip().endswith("+0545")


def test_a_second_production_in_the_folder_is_pointed_out(desk, play, edited):
    desk.save("play.json", play)
    desk.do("snapshot", desk.shows)
    desk.save("play.json", edited(61))
    other = {
        "format": "neutral-show",
        "format_version": 1,
        "title": "Another one",
        "patch": {"900": {"type": "z", "mode": "z"}},
        "cue_lists": {"9": {"cues": {"700": {"label": "elsewhere"}, "701": {"label": "else"}}}},
    }
    desk.save("other.json", json.dumps(other).encode())
    answer = desk.do("snapshot", desk.shows)
    assert "production" in answer.out + answer.err
    names = {file["name"] for file in desk.versions()[0]["files"]}
    assert names == {"play.json", "other.json"}


def test_a_desk_file_newer_than_its_export_is_said_wherever_it_matters(desk, play, edited):
    export = desk.save("play.json", play)
    desk_file = desk.save("play.desk", b"\x00\x01" * 5000)
    now = datetime.now().timestamp()
    os.utime(export, (now - 4 * 3600, now - 4 * 3600))
    os.utime(desk_file, (now - 1800, now - 1800))
    desk.do("snapshot", desk.shows)
    status = desk.run("status", "--vault", desk.vault).out
    assert "3 h 30 min not described" in status
    export.write_bytes(edited(61))
    os.utime(export, (now - 3 * 3600, now - 3 * 3600))
    desk.do("snapshot", desk.shows)
    assert "not described" in desk.do("compare", "1", "latest").out


def test_the_list_says_that_the_desk_file_is_newer_than_its_export(desk, play):
    export = desk.save("play.json", play)
    desk.save("play.desk", b"\x00\x01" * 5000)
    hours_ago = datetime.now().timestamp() - 4 * 3600
    os.utime(export, (hours_ago, hours_ago))
    desk.do("snapshot", desk.shows)
    assert "not described" in desk.do("list").out


@pytest.mark.parametrize("name", [".hidden.json", "play.json.tmp", "play.json~", ".#play.json"])
def test_files_that_programs_write_on_the_side_are_not_kept(desk, play, name):
    desk.save("play.json", play)
    desk.save(name, play + b" ")
    (desk.shows / ".git").mkdir()
    (desk.shows / ".git" / "config.json").write_bytes(b"{}")
    desk.do("snapshot", desk.shows)
    assert [file["name"] for file in desk.versions()[0]["files"]] == ["play.json"]


def test_a_restore_that_cannot_be_written_says_so_and_breaks_nothing(desk, play):
    path = desk.save("play.json", play)
    desk.do("snapshot", path)
    for target in (desk.root / "no" / "such" / "folder" / "x.json", path / "inside.json"):
        answer = desk.run("restore", "1", "--to", target, "--vault", desk.vault)
        assert answer.code >= 3 and answer.err.startswith("error:")
        assert "Traceback" not in answer.err and "itself failed" not in answer.err
    assert path.read_bytes() == play
    assert [version["number"] for version in desk.versions()] == [1]


def test_a_restore_over_another_file_keeps_that_file_first(desk, play):
    desk.snapshot("play.json", play)
    other = desk.root / "elsewhere.json"
    other.write_bytes(NO_SHOW % b"precious")
    desk.do("restore", "1", "--to", other)
    assert other.read_bytes() == play
    holders = [
        version["number"]
        for version in desk.versions()
        if other.name in {file["name"] for file in version["files"]}
    ]
    back = desk.root / "back.json"
    desk.do("restore", str(min(holders)), "--file", other.name, "--to", back)
    assert back.read_bytes() == NO_SHOW % b"precious"


def test_two_snapshots_at_once_are_two_versions_or_one_but_never_none(desk, play, edited):
    desk.snapshot("play.json", play)
    path = desk.save("play.json", edited(61))
    command = [sys.executable, "-m", "showvault.cli.app", "snapshot", str(path)]
    running = [
        subprocess.Popen(
            [*command, "--vault", str(desk.vault)],
            env=desk.environment,
            cwd=desk.root,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
        )
        for _ in range(3)
    ]
    ended = [(process.communicate()[1], process.returncode) for process in running]
    assert [code for _, code in ended] == [0, 0, 0], ended
    assert [version["number"] for version in desk.versions()] == [2, 1]
    assert desk.restored("latest") == edited(61)


@pytest.mark.parametrize(
    "data",
    [
        b'{"format": "neutral-show", "extra": ' + b"[" * 100_000 + b"]" * 100_000 + b"}",
        b'{"format": "neutral-show", "format_version": 1, "notes": "' + b"a" * 5_000_000 + b'"}',
    ],
    ids=["nested 100,000 deep", "a string of 5 MB"],
)
def test_a_file_made_to_exhaust_a_reader_is_kept_all_the_same(desk, play, data):
    desk.snapshot("play.json", play)
    number = desk.snapshot("play.json", data)
    assert desk.restored(number) == data
    answer = desk.run("check", desk.shows / "play.json")
    assert answer.code in (0, 1, 3) and "Traceback" not in answer.err


@pytest.mark.skipif(sys.platform == "win32", reason="a pipe that breaks as on POSIX")
def test_a_reader_that_leaves_early_is_no_error(desk, edited):
    for level in (1, 2, 3):
        desk.snapshot("play.json", edited(level))
    done = subprocess.run(
        f"'{sys.executable}' -m showvault.cli.app schema | head -n 1",
        shell=True,
        capture_output=True,
        text=True,
        env=desk.environment,
    )
    assert done.stdout == "{\n"
    assert done.stderr == ""


def test_a_watched_folder_may_be_empty_at_first(desk, play):
    with desk.watching() as watcher:
        desk.save("play.json", play)
        assert watcher.wait_for("kept")["number"] == 1


def test_the_newest_version_is_never_lost_to_a_burst_of_saves_of_broken_files(desk, play):
    desk.snapshot("play.json", play)
    for cut in (1, 3, 7, 11):
        path = desk.save("play.json", play[: len(play) // 12 * cut])
        assert desk.run("snapshot", path, "--vault", desk.vault).code == 1
    assert [path.read_bytes() for path in desk.ring()] == [play]
    assert desk.restored("latest") == play
    assert len(desk.versions()) == 5


def test_a_whole_vault_is_read_back_and_damage_is_named_and_mended(desk, play):
    desk.save("play.json", play)
    desk.do("snapshot", desk.shows)
    assert "everything is as it was kept" in desk.do("verify").out
    (copy,) = desk.ring()
    copy.write_bytes(b"scribbled over")
    found = desk.run("verify", "--mend", "--vault", desk.vault)
    assert found.code == 1
    assert "ring" in found.out
    assert desk.restored("latest") == play


def test_what_a_dying_disk_took_comes_back_from_a_clone_on_a_stick(desk, play):
    desk.snapshot("play.json", play)
    later = play.replace(b"Intensity", b"intensity").replace(b'"title": "', b'"title": "Night: ')
    desk.snapshot("play.json", later)
    before = desk.versions()
    stick = desk.shows.parent / "stick.git"
    command = ["git", "clone", "-q", "--mirror", str(desk.vault / "history.git"), str(stick)]
    subprocess.run(command, check=True, capture_output=True)
    for folder in ("history.git/objects/pack", "second", "ring"):
        for path in (desk.vault / folder).iterdir():
            if path.name != "vault.json":
                path.unlink()
    (desk.shows / "play.json").unlink()
    assert desk.run("verify", "--from", stick, "--vault", desk.vault).code == 2
    told = desk.run("verify", "--mend", "--from", desk.shows, "--vault", desk.vault)
    assert told.code == 4
    assert "git clone --mirror" in told.err
    mended = desk.run("verify", "--mend", "--from", stick, "--vault", desk.vault)
    assert mended.code == 1
    assert "all of it is mended" in mended.out
    assert desk.versions() == before
    assert desk.restored("1") == play
    assert desk.restored("2") == later
    assert "everything is as it was kept" in desk.do("verify").out


@contextmanager
def read_only(folder):
    """Make a folder one that nobody can write: root only by a mount, others by permissions."""
    if os.geteuid():
        for path in (folder, *folder.rglob("*")):
            path.chmod(path.stat().st_mode & ~0o222)
        yield
        for path in (folder, *folder.rglob("*")):
            path.chmod(path.stat().st_mode | 0o200)
        return
    for arguments in (["--bind", folder, folder], ["-o", "remount,ro,bind", folder]):
        if subprocess.run(["mount", *arguments], capture_output=True).returncode:
            pytest.skip("NOT RUN: nothing can be mounted read-only here")
    try:
        yield
    finally:
        subprocess.run(["umount", folder], check=True)


@pytest.mark.mounts
@pytest.mark.skipif(sys.platform != "linux", reason="NOT RUN: mounts as Linux does")
def test_a_vault_that_cannot_be_written_gives_back_all_the_same_and_says_so_once(desk, play):
    desk.save("play.json", play)
    desk.do("snapshot", desk.shows)
    (desk.shows / "play.json").unlink()
    with read_only(desk.vault):
        for arguments in (["--to", desk.root / "elsewhere.json"], []):
            answer = desk.run("restore", "latest", *arguments, "--vault", desk.vault)
            assert answer.code == 0, answer
            assert answer.err.count("the vault cannot be written") == 1
            assert "What came back is whole" in answer.err
    assert (desk.shows / "play.json").read_bytes() == play
    assert (desk.root / "elsewhere.json").read_bytes() == play


def test_a_restore_that_cannot_keep_what_stands_there_writes_nothing(desk, play, edited):
    path = desk.save("play.json", play)
    desk.do("snapshot", desk.shows)
    path.write_bytes(edited(61))
    lock = desk.vault / "locks" / "writer.lock"
    lock.unlink(missing_ok=True)
    lock.mkdir()
    assert desk.run("restore", "latest", "--vault", desk.vault).code == 6
    assert path.read_bytes() == edited(61)


def test_a_restore_over_a_save_that_was_set_aside_names_the_version_that_holds_it(desk, play):
    path = desk.save("play.json", play)
    desk.do("snapshot", desk.shows)
    path.write_bytes(play[:500])
    desk.run("snapshot", desk.shows, "--vault", desk.vault)
    said = desk.do("restore", "latest").out
    assert "version 2 keeps what stood there before" in said
    assert desk.restored("2") == play[:500]
