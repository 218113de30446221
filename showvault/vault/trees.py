"""Tree objects of git as bytes: what a folder of a version holds (git, gitformat)."""

import hashlib
from collections.abc import Collection, Iterable, Mapping
from typing import NamedTuple

from showvault.vault.reader import MissingObjectError

FILE = b"100644"
FOLDER = b"40000"
ID_BYTES = 20
SMALL = 1_000_000
"""Bytes."""


class TreeEntry(NamedTuple):
    """One line of a tree object."""

    name: str
    oid: str
    is_folder: bool


def read_tree(data: bytes) -> list[TreeEntry]:
    """The lines of a tree object: mode, blank, name, NUL, twenty bytes of id.

    Raises MissingObjectError where a stranger's git wrote something else.
    """
    entries = []
    at = 0
    while at < len(data):
        end = data.find(b"\0", at)
        mode, blank, name = data[at:end].partition(b" ")
        oid = data[end + 1 : end + 1 + ID_BYTES].hex()
        if end < 0 or not blank or len(oid) < 2 * ID_BYTES:
            raise MissingObjectError("a folder of a version")
        entries.append(TreeEntry(name.decode("utf-8", "surrogateescape"), oid, mode == FOLDER))
        at = end + 1 + ID_BYTES
    return entries


class Tree(NamedTuple):
    """What a version holds; never changed once it is made, so it may be shared."""

    parts: Mapping[str, str]
    """Path -> blob id."""

    folders: Mapping[str, str]
    """Path of a folder, without a slash at its end -> tree id; the root has none."""


NO_TREE = Tree({}, {})


def make_trees(parts: Mapping[str, str]) -> dict[str, bytes]:
    """Every tree object below a folder that holds ``parts`` (path -> blob id): id -> bytes."""
    _, _, made = tree_after(NO_TREE, parts, ())
    return {object_id("tree", data): data for data in made}


def tree_after(
    before: Tree, changed: Mapping[str, str], removed: Collection[str]
) -> tuple[str, Tree, list[bytes]]:
    """What a tree becomes: the id of its root, the tree, and the tree objects that are new.

    ``removed`` are paths of parts, which need not be there; ``changed`` (path -> blob id) comes
    last. Only folders with something new are worked out.
    """
    gone = frozenset(removed)
    parts = {path: oid for path, oid in before.parts.items() if path not in gone} | dict(changed)
    touched = {"": list[tuple[bytes, bytes]]()}
    for folder in {path.rpartition("/")[0] for path in (*changed, *gone)}:
        touched |= {above: [] for above in _folders_from(folder)}
    for path, oid in parts.items():
        folder, _, name = path.rpartition("/")
        if folder in touched:
            touched[folder].append(_line(FILE, name, oid))
    folders = {path: oid for path, oid in before.folders.items() if path not in touched}
    for path, oid in folders.items():
        folder, _, name = path.rpartition("/")
        if folder in touched:
            touched[folder].append(_line(FOLDER, name, oid))
    made: list[bytes] = []
    for path in sorted(touched, key=lambda path: path.count("/"), reverse=True):
        if not path:
            continue
        lines = touched[path]
        if lines:  # git knows no empty folder
            made.append(_tree_bytes(lines))
            folders[path] = object_id("tree", made[-1])
            folder, _, name = path.rpartition("/")
            touched[folder].append(_line(FOLDER, name, folders[path]))
    made.append(_tree_bytes(touched[""]))
    return object_id("tree", made[-1]), Tree(parts, folders), made


def object_id(kind: str, data: bytes) -> str:
    """The name that git gives to an object: SHA-1 of its kind, its size and its bytes."""
    head = b"%s %d\0" % (kind.encode(), len(data))
    if len(data) <= SMALL:  # a copy that is just made is at hand, and hashed a quarter faster
        return hashlib.sha1(head + data, usedforsecurity=False).hexdigest()
    name = hashlib.sha1(head, usedforsecurity=False)
    name.update(data)
    return name.hexdigest()


def _folders_from(folder: str) -> Iterable[str]:
    while folder:
        yield folder
        folder = folder.rpartition("/")[0]


def _line(mode: bytes, name: str, oid: str) -> tuple[bytes, bytes]:
    """A line of a tree, after what it is sorted by: a folder as if its name ended with a slash."""
    told = name.encode("utf-8", "surrogateescape")
    key = told + b"/" if mode == FOLDER else told
    return key, b"%s %s\0%s" % (mode, told, bytes.fromhex(oid))


def _tree_bytes(lines: list[tuple[bytes, bytes]]) -> bytes:
    return b"".join(line for _, line in sorted(lines))
