"""How a version's objects get into the history: one pack, synced, that nothing names yet.

No git is started for it: on the way to "kept" that would cost more than all the rest. The parts are
compressed in turn, not in a thread: for thousands of small ones it would wait for its turn more
than it works, and hold up those who find the words.
"""

import itertools
from collections.abc import Collection, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from showvault.files.disk import FileSystem
from showvault.vault.differing import Difference
from showvault.vault.packing import FAR, PackedObject, pack_difference, pack_object, write_pack
from showvault.vault.trees import Tree, tree_after

EARLIEST = 0
LATEST = 4_102_444_800
"""Seconds since 1970: git's own check refuses dates outside, for ever; 2100 is far enough."""

FURTHEST_OFFSET = 14 * 60


LONGEST_CHAIN = 4
"""Blobs each of which is told by the one before: reading the last takes reading all of them."""


class Chain(NamedTuple):
    """A blob as it is packed, behind those that it is told by; the first of them is whole."""

    packed: tuple[PackedObject, ...]
    size: int
    """Bytes of the blob itself."""


class NewPart(NamedTuple):
    """A part that is new in a version."""

    data: bytes
    before: Chain | None = None
    """The part of that name in the version before, where it is known how it was packed."""
    difference: Difference | None = None
    """What differs from ``before``."""


class NewCommit(NamedTuple):
    """What a commit says, and what it takes away."""

    parent: str | None
    removed: Collection[str]
    """Paths of parts that are gone, whether or not they were there."""

    message: str
    author: str
    email: str
    seconds: int
    """Since 1970, UTC; clamped to what git accepts."""

    offset_minutes: int
    """Of local time against UTC."""


class StoredCommit(NamedTuple):
    """A commit whose objects are all in the history."""

    commit: str
    tree: Tree
    pack: str
    """The name of the file that holds everything that was new, and this commit."""
    chains: Mapping[str, Chain]
    """How the new parts were packed."""


def store_commit(
    parts: Mapping[str, NewPart],
    beside: Sequence[bytes],
    commit: NewCommit,
    before: Tree,
    folder: Path,
    disk: FileSystem,
) -> StoredCommit:
    """Write a commit and all that is new in it as one pack to ``folder``.

    ``before`` is the parent's tree, ``beside`` are files that stand in no tree. Raises DiskError.
    """
    chains = {path: _pack_part(part) for path, part in parts.items()}
    changed = {path: chain.packed[-1].oid for path, chain in chains.items()}
    root, tree, made = tree_after(before, changed, commit.removed)
    trees = [pack_object("tree", data) for data in made]
    files = [pack_object("blob", data) for data in beside]
    new = pack_object("commit", _commit_bytes(commit, root))
    packed = itertools.chain.from_iterable(chain.packed for chain in chains.values())
    pack = write_pack(folder, [new, *trees, *packed, *files], disk=disk)
    return StoredCommit(new.oid, tree, pack, chains)


def _pack_part(part: NewPart) -> Chain:
    """Pack a part as what differs, if that is known: compressing it anew takes ten times as long.

    What it differs from goes into the same pack, as it was compressed before.
    """
    data, before, difference = part
    size = len(data)
    if (
        difference is None
        or before is None
        or len(before.packed) == LONGEST_CHAIN
        or max(size, before.size) >= FAR
    ):
        return Chain((pack_object("blob", data),), size)
    packed = pack_difference(before.packed[-1], before.size, data, difference)
    return Chain((*before.packed, packed), size)


def _commit_bytes(commit: NewCommit, root: str) -> bytes:
    """A commit object: header lines, a blank line, the message (git, gitformat-commit)."""
    who = _identity(commit)
    parents = f"parent {commit.parent}\n" if commit.parent else ""
    head = f"tree {root}\n{parents}author {who}\ncommitter {who}\n\n"
    return head.encode() + commit.message.encode("utf-8", "replace").replace(b"\0", b"?")


def _identity(commit: NewCommit) -> str:
    name = _without_brackets(commit.author) or "unknown"
    email = _without_brackets(commit.email)
    seconds = max(EARLIEST, min(LATEST, commit.seconds))
    offset = max(-FURTHEST_OFFSET, min(FURTHEST_OFFSET, commit.offset_minutes))
    hours, minutes = divmod(abs(offset), 60)
    sign = "-" if offset < 0 else "+"
    return f"{name} <{email}> {seconds} {sign}{hours:02d}{minutes:02d}"


def _without_brackets(text: str) -> str:
    printable = "".join(letter if letter.isprintable() else " " for letter in text)
    cleaned = printable.replace("<", "(").replace(">", ")")
    return cleaned.encode("utf-8", "replace").decode("utf-8").strip(" .,:;'\"")[:200]
