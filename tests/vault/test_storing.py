"""Git is the reference for trees and commits: `git fast-import` makes the same ids."""

import subprocess
from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvault.files.disk import DISK
from showvault.vault.parts import blob_id
from showvault.vault.storing import NewCommit, store_commit
from showvault.vault.trees import NO_TREE, Tree, make_trees, object_id, tree_after
from tests.vault.builders import git

NAMES = st.sampled_from(["a", "a.b", "a-b", "a0", "ab", "b", "é"])
PATHS = st.lists(NAMES, min_size=1, max_size=3).map("/".join)
STEPS = st.lists(
    st.tuples(st.dictionaries(PATHS, st.binary(max_size=3), max_size=6), st.sets(PATHS)),
    min_size=1,
    max_size=6,
)


def new_commit(**given: object) -> NewCommit:
    fields = {
        "parent": None,
        "removed": (),
        "message": "night one",
        "author": "Ada",
        "email": "ada@example.org",
        "seconds": 1_700_000_000,
        "offset_minutes": 60,
    }
    return NewCommit(**{**fields, **given})  # type: ignore[arg-type]


def stream(commit: NewCommit, parts: dict[str, bytes], who: str) -> bytes:
    told = commit.message.encode()
    lines = [b"commit refs/heads/x\nmark :1\nauthor %s\ncommitter %s\n" % ((who.encode(),) * 2)]
    lines.append(b"data %d\n%s\n" % (len(told), told))
    for path, data in parts.items():
        lines.append(b"M 100644 inline %s\ndata %d\n%s\n" % (path.encode(), len(data), data))
    return b"".join([*lines, b"\nget-mark :1\ndone\n"])


@pytest.fixture(scope="module")
def repository(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("commits") / "some.git"
    subprocess.run(["git", "init", "-q", "--bare", str(folder)], check=True)
    return folder


@pytest.mark.parametrize("size", [3, 500_000])
def test_git_gives_a_commit_the_same_name(repository: Path, tmp_path: Path, size: int) -> None:
    parts = {"show/cues/1/1.json": b"1" * size, "show/skeleton": b"{}", "show.json": b"x"}
    commit = new_commit(message="4 cues\n\ncue 12.5: 50 → 65 %")
    stored = store_commit(parts, (), commit, NO_TREE, tmp_path, DISK)
    who = "Ada <ada@example.org> 1700000000 +0100"
    told = stream(commit, parts, who)
    answer = git(
        repository, "fast-import", "--force", "--quiet", "--done", "--date-format=raw", stdin=told
    )
    assert stored.commit == answer.decode().strip()


@given(steps=STEPS)
def test_a_tree_that_is_worked_out_from_the_last_one_is_the_whole_one(
    steps: Sequence[tuple[dict[str, bytes], set[str]]],
) -> None:
    tree: Tree = NO_TREE
    known: dict[str, bytes] = {}
    for given_parts, removed in steps:
        changed = {path: blob_id(data) for path, data in given_parts.items()}
        # A name is a file or a folder, never both: what stands in the way goes.
        blocked = {
            path
            for path in tree.parts
            if any(
                f"{path}/".startswith(f"{new}/") or f"{new}/".startswith(f"{path}/")
                for new in changed
            )
        }
        changed = {
            path: oid
            for path, oid in changed.items()
            if not any(path.startswith(f"{other}/") for other in changed)
        }
        root, tree, made = tree_after(tree, changed, [*removed, *blocked])
        known |= {object_id("tree", data): data for data in made}
        whole = make_trees(tree.parts)
        assert whole.items() <= known.items()
        assert root == list(whole)[-1]
        assert tree == tree_after(NO_TREE, tree.parts, ())[1]
