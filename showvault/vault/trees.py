"""Tree objects of git as bytes: what a folder of a version holds (git, gitformat)."""

import hashlib
from collections.abc import Mapping
from typing import NamedTuple

FILE = b"100644"
FOLDER = b"40000"
ID_BYTES = 20


class TreeEntry(NamedTuple):
    """One line of a tree object."""

    name: str
    oid: str
    is_folder: bool


def read_tree(data: bytes) -> list[TreeEntry]:
    """The lines of a tree object: mode, blank, name, NUL, twenty bytes of id."""
    entries = []
    at = 0
    while at < len(data):
        end = data.index(b"\0", at)
        mode, _, name = data[at:end].partition(b" ")
        oid = data[end + 1 : end + 1 + ID_BYTES].hex()
        entries.append(TreeEntry(name.decode("utf-8", "surrogateescape"), oid, mode == FOLDER))
        at = end + 1 + ID_BYTES
    return entries


def make_trees(parts: Mapping[str, str]) -> dict[str, bytes]:
    """Every tree object below a folder that holds ``parts`` (path -> blob id): id -> bytes."""
    made: dict[str, bytes] = {}
    _make_tree(parts, made)
    return made


def object_id(kind: str, data: bytes) -> str:
    """The name that git gives to an object: SHA-1 of its kind, its size and its bytes."""
    name = hashlib.sha1(b"%s %d\0" % (kind.encode(), len(data)), usedforsecurity=False)
    name.update(data)
    return name.hexdigest()


def _make_tree(parts: Mapping[str, str], made: dict[str, bytes]) -> str:
    files: dict[str, str] = {}
    folders: dict[str, dict[str, str]] = {}
    for path, oid in parts.items():
        first, slash, rest = path.partition("/")
        if slash:
            folders.setdefault(first, {})[rest] = oid
        else:
            files[first] = oid
    lines = {name.encode(): (FILE, name, oid) for name, oid in files.items()}
    for name, inner in folders.items():  # git sorts a folder as if its name ended with a slash
        lines[name.encode() + b"/"] = (FOLDER, name, _make_tree(inner, made))
    data = b"".join(
        b"%s %s\0%s" % (mode, name.encode(), bytes.fromhex(oid))
        for _, (mode, name, oid) in sorted(lines.items())
    )
    oid = object_id("tree", data)
    made[oid] = data
    return oid
