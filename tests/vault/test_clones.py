"""A clone of the history as a source of what is gone: git itself made it, or a stranger did."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from showvault.vault.clones import NotACloneError, opened_clone
from showvault.vault.parts import blob_id
from showvault.vault.recovery import Rebuild
from tests.vault.builders import git

posix = pytest.mark.skipif(sys.platform == "win32", reason="kinds of files of POSIX")


@pytest.fixture
def clone(tmp_path: Path) -> Path:
    folder = tmp_path / "clone.git"
    subprocess.run(["git", "init", "-q", "--bare", str(folder)], check=True)
    for data in (b"one", b"two"):
        git(folder, "hash-object", "-w", "--stdin", stdin=data)
    return folder


def ask(rebuild: Rebuild, *contents: bytes) -> list[tuple[str, bytes]]:
    return sorted(rebuild(frozenset(map(blob_id, contents))))


def test_objects_are_found_by_their_names(clone: Path) -> None:
    with opened_clone(clone) as rebuild:
        assert ask(rebuild, b"one", b"two", b"three") == [("blob", b"one"), ("blob", b"two")]
        assert ask(rebuild, b"three") == []


def test_a_damaged_object_is_one_that_is_not_there(clone: Path) -> None:
    name = blob_id(b"one")
    place = clone / "objects" / name[:2] / name[2:]
    place.chmod(0o600)
    place.write_bytes(b"junk")
    with opened_clone(clone) as rebuild:
        assert ask(rebuild, b"one", b"two") == [("blob", b"two")]


def test_a_strangers_clone_starts_no_program(clone: Path, tmp_path: Path) -> None:
    """Missing objects of a partial clone are fetched by git when it is asked for them."""
    canary = tmp_path / "canary"
    command = f"ext::sh -c touch% {canary}"
    (clone / "config").write_text(
        "[core]\n repositoryformatversion = 1\n bare = true\n"
        f" fsmonitor = touch {canary}\n"
        "[extensions]\n partialClone = origin\n"
        f'[remote "origin"]\n promisor = true\n url = "{command}"\n'
        "[protocol]\n allow = always\n"
    )
    with opened_clone(clone) as rebuild:
        assert ask(rebuild, b"one", b"three") == [("blob", b"one")]
    assert not canary.exists()


@posix
def test_a_strangers_pipe_is_not_waited_for(clone: Path) -> None:
    os.mkfifo(clone / "objects" / "pack" / "pack-1111111111111111111111111111111111111111.idx")
    with pytest.raises(NotACloneError, match="is no file"), opened_clone(clone):
        pass


@pytest.mark.parametrize("name", ["", ".git", "history.git"])
def test_the_repository_is_found_in_the_folder_that_is_named(tmp_path: Path, name: str) -> None:
    folder = tmp_path / "somewhere"
    (folder / name).mkdir(parents=True)
    subprocess.run(["git", "init", "-q", "--bare", str(folder / name)], check=True)
    with opened_clone(folder) as rebuild:
        assert ask(rebuild, b"one") == []


def test_a_folder_without_a_repository_is_told(tmp_path: Path) -> None:
    with pytest.raises(NotACloneError) as told, opened_clone(tmp_path):
        pass
    assert "git clone --mirror" in told.value.hint
