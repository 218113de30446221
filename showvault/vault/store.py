"""What the history holds and how it moves on: parts, trees, commits and the two refs that count.

Nothing here decides when something is published; `publishing` does.
"""

import errno
import re
from collections import deque
from collections.abc import Collection, Iterable, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType

from showvault.files.disk import DISK, DiskError, FileSystem
from showvault.files.durable import (
    make_folder_durably,
    remove_durably,
    swap_in_durably,
    sync_folder,
    write_beside,
)
from showvault.vault.differing import Difference
from showvault.vault.git import Git
from showvault.vault.layout import packs_of
from showvault.vault.packing import (
    MARK,
    PackedObject,
    index_proves_whole,
    proves_whole,
    unmark_pack,
    write_pack,
)
from showvault.vault.parts import blob_id
from showvault.vault.reader import MissingObjectError, Reader
from showvault.vault.refs import DamagedRefError, HeldRefError, MovedRefError
from showvault.vault.storing import Chain, NewCommit, NewPart, StoredCommit, store_commit
from showvault.vault.trees import NO_TREE, Tree, read_tree
from showvault.vault.unpacking import read_whole_blobs

__all__ = ["FILES", "LABELS", "MAIN", "DamagedRefError", "Store", "blob_id"]

MAIN = "refs/heads/main"
LABELS = "refs/showvault/labels"
FILES = "refs/showvault/files"
NOTHING = "0" * 40
MANY = 100
"""Blobs for which it is worth it to look into the packs ourselves; git is asked for fewer."""

NO_DIFFERENCES: Mapping[str, Difference] = MappingProxyType({})

OID = re.compile(r"[0-9a-f]{40}")
PACK = re.compile(r"pack-[0-9a-f]{40}\.pack")


class Store:
    """The git repository of a vault."""

    def __init__(
        self, history: Path, environ: Mapping[str, str], *, disk: FileSystem = DISK
    ) -> None:
        self.history = history
        self.packs = packs_of(history)
        self.git = Git(history, environ)
        self.reader = Reader(self.git)
        self.disk = disk
        self._trees: dict[str, Tree] = {}
        self._chains: dict[str, Chain] = {}
        """How parts were packed that were written here last, by their paths."""
        # One change writes two packs at most: a version's and its label's.
        self._written: deque[str] = deque(maxlen=4)

    def close(self) -> None:
        """End the git that answers questions."""
        self.reader.close()

    def head(self) -> str | None:
        """The newest version's commit; None before the first. Raises DamagedRefError."""
        return self.ref(MAIN)

    def ref(self, name: str) -> str | None:
        """What the ref ``name`` points to. Raises DamagedRefError, DiskError."""
        try:
            text = (self.history / name).read_bytes()
        except (FileNotFoundError, NotADirectoryError, IsADirectoryError):
            return self._packed_ref(name)
        except OSError as error:
            raise DiskError.from_os(error, "read", self.history / name) from error
        found = text.removesuffix(b"\n").decode("ascii", "replace")
        if not OID.fullmatch(found):
            raise DamagedRefError(name)
        return found

    def tree(self, commit: str | None) -> Mapping[str, str]:
        """Every part of a version: path -> blob id. Raises MissingObjectError."""
        return self.whole_tree(commit).parts

    def whole_tree(self, commit: str | None) -> Tree:
        """Every part and every folder of a version. Raises MissingObjectError."""
        if commit is None:
            return NO_TREE
        if commit not in self._trees:
            self._remember(commit, self._walk(commit))
        return self._trees[commit]

    def read_blob(self, oid: str) -> bytes:
        """The bytes of a blob. Raises MissingObjectError."""
        return self.reader.read(oid).data

    def read_blobs(self, oids: Sequence[str]) -> dict[str, bytes]:
        """The bytes of many blobs at once. Raises MissingObjectError."""
        wanted = dict.fromkeys(oids)
        found = read_whole_blobs(self.packs, wanted) if len(wanted) >= MANY else {}
        rest = [oid for oid in wanted if oid not in found]
        for oid, stored in zip(rest, self.reader.read_all(rest), strict=True):
            if stored is None:
                raise MissingObjectError(oid)
            found[oid] = stored.data
        return found

    def read_parts(self, commit: str, paths: Sequence[str]) -> dict[str, bytes]:
        """The bytes of some parts of a version by their paths. Raises MissingObjectError."""
        tree = self.tree(commit)
        missing = next((path for path in paths if path not in tree), None)
        if missing is not None:
            raise MissingObjectError(f"{commit[:12]}:{missing}")
        blobs = self.read_blobs([tree[path] for path in paths])
        return {path: blobs[tree[path]] for path in paths}

    def write_commit(
        self,
        parts: Mapping[str, bytes],
        beside: Sequence[bytes],
        commit: NewCommit,
        differences: Mapping[str, Difference] = NO_DIFFERENCES,
    ) -> StoredCommit:
        """Store a commit with its new parts in a pack of its own, synced but for its name.

        ``beside`` are files that stand in no tree; ``differences`` tell of parts what differs from
        the parent's part of that name. Raises MissingObjectError where the parent's tree is
        damaged, DiskError.
        """
        before = self.whole_tree(commit.parent)
        new = {
            path: NewPart(data, self._chain(path, before), differences.get(path))
            for path, data in parts.items()
        }
        stored = store_commit(new, beside, commit, before, self.packs, self.disk)
        self._written.append(stored.pack)
        self._remember(stored.commit, stored.tree)  # spares the next caller the walk
        self._chains |= stored.chains
        for path in self._chains.keys() - stored.tree.parts.keys():
            del self._chains[path]
        return stored

    def _chain(self, path: str, tree: Tree) -> Chain | None:
        """Return how a part of a version was packed, where that is known."""
        chain = self._chains.get(path)
        return chain if chain and chain.packed[-1].oid == tree.parts.get(path) else None

    def pack_is_as_written(self, name: str) -> bool:
        """Whether a pack and its index give back the bytes that were given to the disk."""
        pack = self.packs / name
        return proves_whole(pack) and index_proves_whole(pack)

    def sync_packs(self) -> None:
        """Make the names of new packs safe. Raises DiskError."""
        sync_folder(self.packs, disk=self.disk)

    def move(self, ref: str, new: str, old: str | None) -> None:
        """Point ``ref`` from ``old`` to ``new``, or fail if it is not at ``old`` any more.

        By the steps of git's own update-ref (a lock beside it, compared, synced, renamed), which
        other gits respect, and with the folder's sync that git leaves out. Raises MovedRefError,
        HeldRefError, DiskError.
        """
        path = self.history / ref
        lock = path.with_name(path.name + ".lock")
        make_folder_durably(path.parent, disk=self.disk)
        try:
            write_beside(lock, f"{new}\n".encode("ascii"), disk=self.disk)
        except DiskError as error:
            if error.code == errno.EEXIST:
                raise HeldRefError(ref) from error
            raise
        try:
            if self.ref(ref) != old:
                raise MovedRefError(ref)
            swap_in_durably(lock, path, disk=self.disk)
        except BaseException:
            remove_durably(lock, disk=self.disk)
            raise

    def remove_ref(self, ref: str, old: str, *, holding: int | None) -> None:
        """Take ``ref``, which is at ``old``, away. Raises GitError, DiskError."""
        self.git.run("update-ref", "--no-deref", "-d", ref, old, doing="undo", holding=holding)
        self._sync_ref_folder(ref)

    def put_back(self, ref: str, old: str | None, *, holding: int | None) -> None:
        """Point ``ref`` to ``old`` again, wherever it is now. Raises GitError, DiskError."""
        try:
            now = self.ref(ref)
        except DamagedRefError:  # half-written by a git that failed: it never counted
            remove_durably(self.history / ref, disk=self.disk)
            now = None
        if now == old:
            return
        if old is None:
            self.remove_ref(ref, now or NOTHING, holding=holding)
        else:
            self.move(ref, old, now)

    def name_files(self, files: Mapping[str, str]) -> None:
        """Let a ref of its own hold each blob: SHA-256 -> blob id. Raises DiskError."""
        for sha256, oid in sorted(files.items()):
            before = self.file_ref(sha256)
            if before is None and (self.history / FILES / sha256).exists():  # damaged
                remove_durably(self.history / FILES / sha256, disk=self.disk)
                before = self.file_ref(sha256)
            if before != oid:
                self.move(f"{FILES}/{sha256}", oid, before)

    def has_file(self, sha256: str, oid: str) -> bool:
        """Whether a blob is already held by its ref, and is there."""
        return self.file_ref(sha256) == oid and self.holds(oid)

    def holds(self, oid: str) -> bool:
        """Whether an object is in the history, without reading its bytes."""
        return oid in self.kinds_of([oid])

    def kinds_of(self, oids: Collection[str]) -> dict[str, str]:
        """The kinds of those objects that are in the history, by their ids; reads no bytes.

        Raises DiskError, GitError.
        """
        questions = "".join(f"{oid}\n" for oid in sorted(oids)).encode("ascii")
        answers = self.git.run(
            "cat-file", "--batch-check", doing="look for what is there", stdin=questions
        )
        answered = (line.decode("ascii").split(" ") for line in answers.splitlines())
        return {oid: kind for oid, kind, *_ in answered if kind != "missing"}

    def write_objects(self, objects: Iterable[PackedObject]) -> None:
        """Store objects in a pack of their own, for a vault that is being mended.

        Raises DiskError.
        """
        pack = write_pack(self.packs, objects, disk=self.disk)
        self.sync_packs()
        self.let_go(pack)

    def let_go(self, pack: str) -> None:
        """Let other gits fold a pack, now that a ref leads to what it holds."""
        unmark_pack(self.packs / pack, disk=self.disk)

    def pack_names(self) -> frozenset[str]:
        """The packs there are now. Raises DiskError."""
        folder = self.packs
        try:
            return frozenset(filter(PACK.fullmatch, self.disk.names(folder)))
        except OSError as error:
            raise DiskError.from_os(error, "look into", folder) from error

    def discard_packs(self, before: frozenset[str]) -> None:
        """Remove the packs of a change that failed; ``before`` are those of before it began.

        A pack whose sync failed must go: git would find its objects there and not write them
        again, though they may never have reached the disk. A pack that another git has made
        meanwhile stays: it may hold all that was folded into it. Raises DiskError.
        """
        self.reader.close()
        names = self.disk.names(self.packs)
        # A mark of ours is empty; git writes into one of its own whose it is (git-fetch-pack).
        marks = [name for name in names if name.endswith(MARK)]
        marked = {
            name.removesuffix(MARK)
            for name in marks
            if self.disk.look(self.packs / name).st_size == 0
        }
        ours = marked | {name.removesuffix(".pack") for name in self._written}
        ours -= {name.removesuffix(".pack") for name in before}
        for name in names:
            if name.partition(".")[0] in ours:
                remove_durably(self.packs / name, disk=self.disk)

    def written_since(self, before: frozenset[str]) -> tuple[str, ...]:
        """The packs that the change under way has written; not those of another git."""
        return tuple(name for name in self._written if name not in before)

    def file_ref(self, sha256: str) -> str | None:
        """The blob that is held for a SHA-256; None where none is."""
        try:
            return self.ref(f"{FILES}/{sha256}")
        except DamagedRefError:
            return None

    def _sync_ref_folder(self, ref: str) -> None:
        folder = (self.history / ref).parent
        while folder != self.history:  # folders above may be new as well
            if folder.is_dir():  # git takes an empty one away with the last ref
                sync_folder(folder, disk=self.disk)
            folder = folder.parent

    def _packed_ref(self, name: str) -> str | None:
        try:
            text = (self.history / "packed-refs").read_bytes()
        except FileNotFoundError:
            return None
        except OSError as error:
            raise DiskError.from_os(error, "read", self.history / "packed-refs") from error
        match = re.search(rb"^([0-9a-f]{40}) " + re.escape(name.encode()) + rb"$", text, re.M)
        return match[1].decode("ascii") if match else None

    def _remember(self, commit: str, tree: Tree) -> None:
        """Hold the two newest trees."""
        for old in list(self._trees)[:-1]:
            del self._trees[old]
        self._trees[commit] = tree

    def _walk(self, commit: str) -> Tree:
        parts: dict[str, str] = {}
        folders: dict[str, str] = {}
        level = {"": f"{commit}^{{tree}}"}
        while level:
            below: dict[str, str] = {}
            answers = self.reader.read_all(list(level.values()))
            for (prefix, name), stored in zip(level.items(), answers, strict=True):
                if stored is None or stored.kind != "tree":
                    raise MissingObjectError(name)
                for entry in read_tree(stored.data):
                    (below if entry.is_folder else parts)[prefix + entry.name] = entry.oid
            folders |= below
            level = {f"{path}/": oid for path, oid in below.items()}
        return Tree(parts, folders)
