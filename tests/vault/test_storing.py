"""Git is the reference for trees and commits: `git fast-import` makes the same ids."""

import subprocess
from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvault.files.disk import DISK
from showvault.vault.differing import Difference
from showvault.vault.packing import FAR, pack_object
from showvault.vault.parts import blob_id
from showvault.vault.storing import LONGEST_CHAIN, Chain, NewCommit, NewPart, store_commit
from showvault.vault.trees import NO_TREE, Tree, make_trees, object_id, tree_after
from showvault.vault.unpacking import read_whole_blobs
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
    new = {path: NewPart(data) for path, data in parts.items()}
    stored = store_commit(new, (), commit, NO_TREE, tmp_path, DISK)
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


CUE = b'{"levels": {"1": {"preset": "Color 1"}, "2": {"preset": "Color 1"}}, "label": "%d"}' % 7


def moved(data: bytes, old: bytes, new: bytes) -> tuple[bytes, Difference]:
    """Return a cue whose preset moved, and what differs in it."""
    places = [at for at in range(len(data)) if data.startswith(old, at)]
    return data.replace(old, new), Difference(places, len(old), new)


NUMBERS = st.sampled_from([b"1", b"2", b"10"])


@given(steps=st.lists(st.tuples(st.sampled_from("ab"), NUMBERS, NUMBERS), min_size=1, max_size=12))
def test_git_and_we_read_parts_that_are_told_by_what_differs(
    repository: Path, steps: list[tuple[str, bytes, bytes]]
) -> None:
    """Presets move back and forth, and both cues are alike now and then: no blob tells itself."""
    packs = repository / "objects" / "pack"
    tree, chains, data = NO_TREE, dict[str, Chain](), dict.fromkeys("ab", CUE)
    whole = {path: NewPart(cue) for path, cue in data.items()}
    commit, written = new_commit(), list[str]()
    for new in [whole, *[None] * len(steps)]:
        if new is None:
            new = {}
            path, *names = steps[len(written) - 1]
            old, now = (b'"Color %b"' % name for name in names)
            for one in {path, "a"}:
                data[one], difference = moved(data[one], old, now)
                new[one] = NewPart(data[one], chains[one], difference)
        stored = store_commit(new, (), commit, tree, packs, DISK)
        chains |= stored.chains
        tree, commit = stored.tree, new_commit(parent=stored.commit)
        assert all(len(chain.packed) <= LONGEST_CHAIN for chain in chains.values())
        git(repository, "verify-pack", str(packs / stored.pack))
        again = packs / "again.idx"
        git(repository, "index-pack", "-o", str(again), str(packs / stored.pack))
        assert again.read_bytes() == (packs / stored.pack).with_suffix(".idx").read_bytes()
        again.unlink()
        for path in new:
            assert git(repository, "cat-file", "blob", f"{stored.commit}:{path}") == data[path]
            oid = tree.parts[path]
            assert read_whole_blobs(packs, [oid]) == {oid: data[path]}
        written.append(stored.pack)
    git(repository, "fsck", "--strict", "--no-dangling", stored.commit)
    for pack in set(written):
        for path in packs.glob(Path(pack).stem + ".*"):
            path.unlink()


def test_a_part_is_told_by_what_differs_a_few_times_and_then_is_whole_again(tmp_path: Path) -> None:
    commit, chain, data, lengths = new_commit(), None, CUE, []
    for number in range(2 * LONGEST_CHAIN):
        data, difference = moved(data, b'"Color %d"' % number, b'"Color %d"' % (number + 1))
        new = {"cue": NewPart(data, chain, difference)}
        chain = store_commit(new, (), commit, NO_TREE, tmp_path, DISK).chains["cue"]
        lengths.append(len(chain.packed))
    assert lengths == [*range(1, LONGEST_CHAIN + 1)] * 2


def test_of_a_part_beyond_what_a_difference_can_tell_nothing_but_the_whole_is_stored(
    tmp_path: Path,
) -> None:
    before = Chain((pack_object("blob", CUE),), FAR)
    new = {"cue": NewPart(CUE, before, Difference([], 0, b""))}
    stored = store_commit(new, (), new_commit(), NO_TREE, tmp_path, DISK)
    assert stored.chains["cue"].packed == before.packed
