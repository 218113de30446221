"""Which versions lack something that the history should hold, and what."""

from collections.abc import Iterable, Sequence

from showvault.vault.reader import MissingObjectError, Reader, read_what_is_there
from showvault.vault.store import Store
from showvault.vault.trees import TreeEntry, read_tree


def find_lacking(store: Store, commits: Sequence[str]) -> dict[str, frozenset[str]]:
    """Each version that lacks something: its commit -> the ids of what is not there.

    A commit that is not there itself is left out: nothing tells any more what it held. What is
    there is not looked at closely; set damaged packs aside first. Raises DiskError, GitError.
    """
    roots = _roots(store.reader, commits)
    trees, gone = _walk(store.reader, set(roots.values()))
    named = {entry.oid for tree in trees.values() for entry in tree}
    gone |= named - store.kinds_of(named).keys()
    lacking: dict[str, frozenset[str]] = {}
    for commit, root in roots.items():
        lacks = _below(root, trees, gone, lacking)
        if lacks:
            lacking[commit] = lacks
    return {commit: lacking[commit] for commit in roots if commit in lacking}


def _roots(reader: Reader, commits: Sequence[str]) -> dict[str, str]:
    """The tree of each commit that is there."""
    return {
        commit: stored.data[5:45].decode("ascii")
        for commit, stored in read_what_is_there(reader, commits)
        if stored is not None and stored.data.startswith(b"tree ")
    }


def _walk(reader: Reader, level: Iterable[str]) -> tuple[dict[str, list[TreeEntry]], set[str]]:
    """Every tree below some trees, each read once, and those that are not there."""
    trees: dict[str, list[TreeEntry]] = {}
    gone: set[str] = set()
    level = set(level)
    while level:
        for oid, stored in read_what_is_there(reader, sorted(level)):
            if stored is None or stored.kind != "tree":
                gone.add(oid)
                continue
            try:
                trees[oid] = read_tree(stored.data)
            except MissingObjectError:
                gone.add(oid)
        below = {e.oid for oid in level & trees.keys() for e in trees[oid] if e.is_folder}
        level = below - trees.keys() - gone
    return trees, gone


def _below(
    oid: str,
    trees: dict[str, list[TreeEntry]],
    gone: set[str],
    known: dict[str, frozenset[str]],
) -> frozenset[str]:
    if oid in gone:
        return frozenset([oid])
    if oid not in known:
        found: set[str] = set()
        for entry in trees.get(oid, ()):
            found |= _below(entry.oid, trees, gone, known)
        known[oid] = frozenset(found)
    return known[oid]
