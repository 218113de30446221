"""Names and texts that somebody chose to do harm: nothing is lost, executed or painted."""

import json
import os
import re
import sys

import pytest

CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
NAMES = [
    "--vault=elsewhere.json",
    "-rf.json",
    "a b  c.json",
    'quote\'s "double".json',
    "$(touch owned).json",
    "`touch owned`;.json",
    "new\nline.json",
    "escape\x1b[2J\x1b]0;owned\x07.json",
    "right\u202eto left.json",
    "percent%s%n.json",
    "ümlaut – 夜.json",
    "CON.json",
    "ref..lock.json",
]

posix_names = pytest.mark.skipif(sys.platform == "win32", reason="no such names on Windows")


@posix_names
@pytest.mark.parametrize("name", NAMES)
def test_a_show_of_any_name_is_kept_told_and_brought_back(desk, play, name):
    path = desk.save(name, play)
    desk.do("snapshot", desk.shows)
    (version,) = desk.versions()
    assert version["files"][0]["name"] == name
    for command in ("list", "snapshot"):
        assert not CONTROL.search(desk.do(command).out)
    path.unlink()
    desk.do("restore", "latest")
    assert path.read_bytes() == play
    assert not list(desk.root.rglob("owned"))
    assert not (desk.root / "elsewhere.json").exists()


@posix_names
def test_a_name_that_is_no_text_is_kept_all_the_same(desk, play):
    raw = os.fsencode(desk.shows) + b"/caf\xe9.json"
    with open(raw, "wb") as file:
        file.write(play)
    desk.do("snapshot", desk.shows)
    os.unlink(raw)
    desk.do("restore", "latest")
    with open(raw, "rb") as file:
        assert file.read() == play


def test_texts_of_a_show_cannot_move_the_cursor(desk, play):
    show = json.loads(play)
    show["title"] = "\x1b[2J\x1b[31mred"
    show["cue_lists"]["1"]["cues"]["4"]["label"] = "line\r\nsecond\x1b]52;c;b3duZWQ=\x07\u202e"
    desk.snapshot("play.json", play)
    desk.snapshot("play.json", json.dumps(show).encode())
    for arguments in (["list"], ["compare", "previous", "latest"], ["status"], ["check", "latest"]):
        said = desk.run(*arguments, "--vault", desk.vault)
        assert not CONTROL.search(said.out + said.err), arguments


def test_keys_of_a_show_cannot_leave_the_vault(desk):
    """Part names of the vault are made from keys: see git-fast-import(1) on paths."""
    keys = ["../../owned", ".git/config", "a/../b", "con", "\x00", "A" * 5000, "name\nM 644"]
    show = {
        "format": "neutral-show",
        "format_version": 1,
        "groups": {key: {"name": key} for key in keys},
        "cue_lists": {key: {"cues": {key: {"label": "x"}}} for key in keys},
    }
    data = json.dumps(show).encode()
    number = desk.snapshot("show.json", data)
    assert desk.restored(number) == data
    desk.git("fsck", "--strict")
    assert not list(desk.root.rglob("owned"))


def test_settings_of_git_in_the_environment_run_nothing(desk, play):
    canary = desk.root / "owned"
    hook = desk.home / "hooks" / "reference-transaction"
    hook.parent.mkdir()
    hook.write_text(f"#!/bin/sh\ntouch '{canary}'\n")
    hook.chmod(0o755)
    (desk.home / ".gitconfig").write_text(
        f"[core]\n\thooksPath = {hook.parent.as_posix()}\n\tfsmonitor = touch '{canary}'\n"
    )
    desk.environment |= {"GIT_DIR": "/nonexistent", "GIT_CONFIG_COUNT": "1"}
    desk.environment |= {"GIT_CONFIG_KEY_0": "core.pager", "GIT_CONFIG_VALUE_0": f"touch {canary}"}
    assert desk.snapshot("play.json", play) == 1
    assert desk.restored(1) == play
    assert not canary.exists()


@posix_names
def test_what_is_found_in_a_strangers_vault_cannot_steer_a_terminal(desk, play):
    desk.snapshot("play.json", play)
    os.mkfifo(desk.vault / "history.git/refs/heads/\x1b]0;owned\x07\u202e")
    told = desk.run("list", "--vault", desk.vault)
    assert told.code == 0
    assert "is in quarantine/" in told.err
    assert not set("\x1b\x07\u202e") & set(told.out + told.err)


@posix_names
def test_what_is_no_plain_file_is_left_alone(desk, play):
    desk.save("play.json", play)
    secret = desk.root / "secret.json"
    secret.write_bytes(b'{"secret": 1}')
    (desk.shows / "link.json").symlink_to(secret)
    os.mkfifo(desk.shows / "pipe.json")
    (desk.shows / "folder.json").mkdir()
    desk.do("snapshot", desk.shows)
    (version,) = desk.versions()
    assert [file["name"] for file in version["files"]] == ["play.json"]


@pytest.mark.parametrize(
    "arguments",
    [
        ["list", "\x1b[45m"],
        ["since", "latest", "--by", "\x1b[45m"],
        ["label", "latest", "a\x1b[45mb"],
        ["compare", "\x1b[45m", "latest"],
        ["\x1b[45m"],
    ],
)
@pytest.mark.skipif(sys.platform == "win32", reason="NOT RUN: needs a pseudo-terminal")
def test_what_is_typed_and_repeated_cannot_steer_a_terminal(desk, play, arguments):
    desk.snapshot("play.json", play)
    desk.environment["NO_COLOR"] = "1"
    said = desk.said_on_a_terminal(*arguments, "--vault", desk.vault)
    assert "\\x1b[45m" in said
    assert "\x1b" not in said
