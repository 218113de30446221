"""How a version's objects get into the history: one pack, synced, that nothing names yet.

The parts are compressed while the caller finds words for the version; then come the folders that
changed and the commit, and the pack is written. No git is started for it: on the way to "kept"
that would cost more than all the rest.
"""

import threading
from collections.abc import Collection, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from showvault.files.disk import FileSystem
from showvault.vault.packing import PackedObject, pack_object, write_pack
from showvault.vault.trees import Tree, tree_after

EARLIEST = 0
LATEST = 4_102_444_800
"""Seconds since 1970: git's own check refuses dates outside, for ever; 2100 is far enough."""

FURTHEST_OFFSET = 14 * 60

WORTH_A_THREAD = 500_000
"""Bytes of parts that are compressed while something else is done."""


class NewCommit(NamedTuple):
    """What a commit is made of, beside the parts that storing began with."""

    parent: str | None
    more: Mapping[str, bytes]
    """Parts that were not known when storing began."""

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


class Storing:
    """Objects on their way into one pack; `finish` makes the commit and writes it."""

    def __init__(self, parts: Mapping[str, bytes], extra: Sequence[bytes]) -> None:
        self._parts = parts
        self._extra = extra
        self._packed: dict[str, PackedObject] = {}
        self._beside: list[PackedObject] = []
        self._failed: list[BaseException] = []
        self._thread = threading.Thread(target=self._pack_in_thread, name="packing")
        size = sum(map(len, parts.values())) + sum(map(len, extra))
        if size > WORTH_A_THREAD:  # zlib lets other threads work
            self._thread.start()
        else:
            self._pack()

    def finish(
        self, commit: NewCommit, before: Tree, folder: Path, disk: FileSystem
    ) -> StoredCommit:
        """Write everything as one pack to ``folder``; ``before`` is the parent's tree.

        Raises DiskError.
        """
        if self._thread.ident is not None:
            self._thread.join()
        if self._failed:
            raise self._failed[0]
        packed = self._packed | {
            path: pack_object("blob", data) for path, data in commit.more.items()
        }
        changed = {path: one.oid for path, one in packed.items()}
        root, tree, made = tree_after(before, changed, commit.removed)
        trees = [pack_object("tree", data) for data in made]
        new = pack_object("commit", _commit_bytes(commit, root))
        pack = write_pack(folder, [new, *trees, *packed.values(), *self._beside], disk=disk)
        return StoredCommit(new.oid, tree, pack)

    def _pack_in_thread(self) -> None:
        try:
            self._pack()
        except BaseException as error:
            self._failed.append(error)

    def _pack(self) -> None:
        for path, data in self._parts.items():
            self._packed[path] = pack_object("blob", data)
        self._beside += [pack_object("blob", data) for data in self._extra]


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
