"""Tree objects, held against git's own mktree and ls-tree."""

import os
import subprocess
from collections.abc import Mapping
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showvault.vault.git import clean_environment
from showvault.vault.reader import MissingObjectError
from showvault.vault.trees import NO_TREE, SMALL, Tree, make_trees, object_id, read_tree, tree_after

BLOB = object_id("blob", b"")
OTHER = object_id("blob", b"x")

names = st.sampled_from(["a", "a.b", "a-b", "a0", "b", "Ä", "cues", "cues.json", "1", "10", "2"])
paths = st.lists(names, min_size=1, max_size=3).map("/".join)
trees = st.dictionaries(paths, st.sampled_from([BLOB, OTHER]), min_size=1, max_size=8).filter(
    lambda parts: (
        not any(f"{one}/" in f"{other}/" and one != other for one in parts for other in parts)
    )
)


@pytest.fixture(scope="module")
def history(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("trees")
    git(folder, "init", "-q", "--bare")
    for data in (b"", b"x"):
        git(folder, "hash-object", "-w", "--stdin", stdin=data)
    return folder


def git(folder: Path, *arguments: str, stdin: bytes = b"") -> bytes:
    environment = clean_environment(os.environ, folder)
    return subprocess.run(
        ["git", *arguments], input=stdin, env=environment, capture_output=True, check=True
    ).stdout


def made_by_git(history: Path, parts: Mapping[str, str]) -> str:
    """The id of the tree that git makes of the same parts, through an index of its own."""
    lines = "".join(f"100644 {oid}\t{path}\0" for path, oid in sorted(parts.items()))
    git(history, "read-tree", "--empty")
    git(history, "update-index", "-z", "--index-info", stdin=lines.encode())
    return git(history, "write-tree").decode().strip()


@settings(max_examples=40)
@given(parts=trees)
def test_git_makes_the_very_same_trees(history: Path, parts: dict[str, str]) -> None:
    root, tree, made = tree_after(NO_TREE, parts, ())
    assert root == made_by_git(history, parts)
    assert tree.parts == parts
    assert set(make_trees(parts)) == {object_id("tree", data) for data in made}
    for oid, data in make_trees(parts).items():
        assert git(history, "cat-file", "tree", oid) == data


@settings(max_examples=40)
@given(before=trees, changed=trees, removed=st.sets(paths, max_size=4))
def test_a_tree_that_follows_another_is_the_one_git_makes(
    history: Path, before: dict[str, str], changed: dict[str, str], removed: set[str]
) -> None:
    """A part never takes a folder's place in a version: kinds of names keep apart (parts.py)."""
    old = tree_after(NO_TREE, {f"old/{path}": oid for path, oid in before.items()}, ())[1]
    new = {f"new/{path}": oid for path, oid in changed.items()}
    root, tree, _ = tree_after(old, new, [f"old/{path}" for path in removed])
    left = {path: oid for path, oid in old.parts.items() if path[4:] not in removed} | new
    assert root == made_by_git(history, left)
    assert tree == Tree(left, tree_after(NO_TREE, left, ())[1].folders)


@settings(max_examples=25)
@given(parts=trees)
def test_what_is_read_is_what_git_lists(history: Path, parts: dict[str, str]) -> None:
    root = made_by_git(history, parts)
    read = read_tree(git(history, "cat-file", "tree", root))
    listed = git(history, "ls-tree", "-z", root).decode().split("\0")[:-1]
    told = [
        f"{'040000 tree' if entry.is_folder else '100644 blob'} {entry.oid}\t{entry.name}"
        for entry in read
    ]
    assert told == listed


def test_a_name_that_is_no_text_is_read_and_written_again(history: Path) -> None:
    line = b"100644 blob %s\tcaf\xe9\0" % BLOB.encode()
    root = git(history, "mktree", "-z", stdin=line).decode().strip()
    (entry,) = read_tree(git(history, "cat-file", "tree", root))
    assert tree_after(NO_TREE, {entry.name: entry.oid}, ())[0] == root


@pytest.mark.parametrize("data", [b"x", b"100644 a", b"100644 a\0short", b"100644a\0" + b"1" * 20])
def test_what_git_would_not_write_is_refused(data: bytes) -> None:
    with pytest.raises(MissingObjectError):
        read_tree(data)


def test_an_empty_tree_is_the_one_that_git_knows() -> None:
    """Its name is known everywhere (git hash-object -t tree /dev/null)."""
    assert tree_after(NO_TREE, {}, ())[0] == "4b825dc642cb6eb9a060e54bf8d69288fbee4904"


@pytest.mark.parametrize("size", [0, 1, SMALL, SMALL + 1])
def test_an_object_has_the_name_that_git_gives_it(size: int) -> None:
    data = b"cue " * (size // 4) + b"x" * (size % 4)
    told = subprocess.run(
        ["git", "hash-object", "--stdin"], input=data, check=True, capture_output=True
    )
    assert object_id("blob", data) == told.stdout.decode().strip()
