"""How git is started, and what is said where it cannot be or is too old."""

import os
import sys
from pathlib import Path

import pytest

from showvault.files.disk import DiskError
from showvault.vault.git import (
    DamagedHistoryError,
    Git,
    GitError,
    GitMissingError,
    clean_environment,
    find_git,
    require_new_git,
)
from tests.vault.builders import make_vault

posix = pytest.mark.skipif(sys.platform == "win32", reason="the stand-ins are shell scripts")


def stand_in(folder: Path, script: str) -> dict[str, str]:
    """An environment in which git is this script."""
    folder.mkdir(exist_ok=True)
    (folder / "git").write_text(f"#!/bin/sh\n{script}\n")
    (folder / "git").chmod(0o700)
    return {"PATH": str(folder)}


def test_the_git_of_this_machine_is_new_enough() -> None:
    require_new_git(os.environ)


@posix
@pytest.mark.parametrize(
    ("says", "told"),
    [
        ("echo git version 2.35.8", "2.35.8"),
        ("echo git version 1.9", "1.9"),
        ("echo a program of another kind", "another kind"),
    ],
)
def test_a_git_that_cannot_sync_is_refused_with_what_it_says(
    tmp_path: Path, says: str, told: str
) -> None:
    with pytest.raises(GitMissingError, match=told) as caught:
        require_new_git(stand_in(tmp_path / "bin", says))
    assert "2.36" in str(caught.value)
    assert "install git" in caught.value.hint


@posix
@pytest.mark.parametrize("version", ["2.36.0", "2.100.1", "3.0"])
def test_a_newer_git_is_taken(tmp_path: Path, version: str) -> None:
    require_new_git(stand_in(tmp_path / "bin", f"echo git version {version}"))


@posix
def test_a_git_that_does_not_start_is_told(tmp_path: Path) -> None:
    environ = stand_in(tmp_path / "bin", "")
    (tmp_path / "bin" / "git").write_text("#!/nowhere/at/all\n")
    with pytest.raises(GitMissingError, match="does not start"):
        require_new_git(environ)


def test_a_git_in_the_current_folder_is_never_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """CVE-2023-40590: a stranger's git.exe beside the show."""
    stand_in(tmp_path, "touch owned")
    monkeypatch.chdir(tmp_path)
    for search in ("", ".", os.pathsep, f".{os.pathsep}"):
        with pytest.raises(GitMissingError, match="none was found"):
            find_git(search)


def test_a_folder_that_is_gone_is_told_when_git_is_started(tmp_path: Path) -> None:
    git = Git(tmp_path / "gone", os.environ)
    with pytest.raises(DiskError, match="start git"):
        git.run("--version", doing="start")


@posix
@pytest.mark.parametrize(
    ("complaint", "kind"),
    [
        ("fatal: write error: No space left on device", DiskError),
        ("error: unable to create temporary file: Disk quota exceeded", DiskError),
        ("fatal: packed object abc (stored in pack-x.pack) is corrupt", DamagedHistoryError),
        ("fatal: something else", GitError),
    ],
)
def test_what_git_complains_of_is_told_for_what_it_is(
    tmp_path: Path, complaint: str, kind: type[Exception]
) -> None:
    folder = make_vault(tmp_path / "vault")
    environ = stand_in(tmp_path / "bin", f"echo '{complaint}' >&2; exit 128")
    with pytest.raises(kind) as caught:
        Git(folder / "history.git", environ).run("gc", doing="tidy up")
    assert complaint.split(": ")[-1].lower() in str(caught.value).lower()


@posix
def test_what_git_says_can_steer_no_terminal(tmp_path: Path) -> None:
    folder = make_vault(tmp_path / "vault")
    environ = stand_in(tmp_path / "bin", "printf 'fatal: \\033[2Jx' >&2; exit 128")
    with pytest.raises(GitError) as caught:
        Git(folder / "history.git", environ).run("gc", doing="tidy up")
    assert "\x1b" not in str(caught.value)


def test_no_variable_of_the_caller_reaches_git(tmp_path: Path) -> None:
    given = {"GIT_DIR": "/x", "git_object_directory": "/x", "GIT_SSH_COMMAND": "touch owned"}
    kept = clean_environment(given | {"HOME": "/home/ada"}, tmp_path)
    assert kept["GIT_DIR"] == str(tmp_path)
    assert kept["HOME"] == "/home/ada"
    assert not {"git_object_directory", "GIT_SSH_COMMAND"} & kept.keys()
