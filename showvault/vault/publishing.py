"""How a version becomes one: the one order in which nothing is ever reported too early.

1. Room is asked for; the ring's copies are written and synced under names that do not count yet,
   while the words are found; parts, tree and commit go into one pack that nothing names.
2. The pack's folder is synced. What was written is read back and compared, and git is asked for it.
3. Files that are stored whole get refs of their own. Then one step publishes: the branch moves
   from the parent to the new commit, or not at all; its folder is synced.
4. The ring's copies get their names.
5. The journal gets its line, synced. Now, and not before, the version is kept.

Whatever fails takes everything back, so that the next attempt writes every byte anew.
"""

import contextlib
import itertools
import sys
import threading
from collections.abc import Iterator

import msgspec

from showvault.errors import ShowvaultError
from showvault.files.lock import FileLock
from showvault.files.space import require_space
from showvault.vault.git import DamagedHistoryError
from showvault.vault.journal import Entry, append_entry
from showvault.vault.layout import VaultPaths
from showvault.vault.opening import Vault
from showvault.vault.parts import RECORD, SET_ASIDE, require_part_names
from showvault.vault.pending import (
    PendingVersion,
    Words,
    all_parts,
    number_version,
    ring_copies,
    with_words,
)
from showvault.vault.reader import MissingObjectError
from showvault.vault.ring import (
    enter_copies,
    list_names,
    prepare_copies,
    withdraw_copies,
)
from showvault.vault.store import FILES, MAIN, Store
from showvault.vault.storing import NewCommit, StoredCommit
from showvault.vault.versions import Version, encode_version

__all__ = ["PendingVersion", "ReadBackError", "StaleHeadError", "Words", "publish_version"]

WORTH_A_THREAD = 2_000_000
"""Bytes of copies that are written while something else is done."""

SWITCH_SECONDS = 0.0002
"""How long a thread waits for another that works: between two writes, Python's own 5 ms is long."""

ROOM_FACTOR = 3
ROOM_BYTES = 16 * 1024 * 1024


class StaleHeadError(ShowvaultError):
    """Another version was published since the caller looked."""

    exit_code = 5

    def __init__(self, expected: str | None, found: str | None) -> None:
        super().__init__(
            "another version was kept in the meantime", hint="compare with the newest and try again"
        )
        self.expected = expected
        self.found = found


class ReadBackError(ShowvaultError):
    """What the history gives back is not what was written; the version was not published."""

    exit_code = 6

    def __init__(self, what: str) -> None:
        super().__init__(
            f"{what} came back from the disk changed, so this version was not kept",
            hint="check the disk; what was kept before is untouched",
        )


def publish_version(vault: Vault, pending: PendingVersion) -> Version:
    """Publish ``pending``; when this returns, the version is kept.

    Raises StaleHeadError, UnsafePartNameError, NoRoomError, DiskError,
    ReadBackError, GitError, LockHeldError; after each of them the vault is as it was.
    """
    require_part_names([*pending.changed, *pending.removed])
    with vault.writing("keeping a version") as lock:
        head = vault.store.head()
        if head != pending.parent:
            raise StaleHeadError(pending.parent, head)
        size = sum(map(len, pending.changed.values())) + sum(map(len, pending.fresh.values()))
        require_space(vault.folder, ROOM_FACTOR * size + ROOM_BYTES)
        try:
            return _Publication(vault, pending, lock).run()
        except (ReadBackError, DamagedHistoryError, MissingObjectError):
            # What was kept before is damaged, where this version stands on it.
            vault.mend_thoroughly(lock)
            if vault.store.head() != pending.parent:
                raise StaleHeadError(pending.parent, vault.store.head()) from None
            return _Publication(vault, pending, lock).run()


class _Publication:
    """One version on its way; knows what must be taken back if it does not arrive."""

    def __init__(self, vault: Vault, pending: PendingVersion, lock: FileLock) -> None:
        self._paths: VaultPaths = vault.paths
        self._store: Store = vault.store
        self._disk = vault.disk
        self._pending = pending
        self._lock = lock
        self._version = number_version(vault.paths, vault.store, pending)
        self._parts = all_parts(pending, self._version)
        self._record = b""
        whole = [
            file for file in self._version.files if file.path in pending.fresh and file.stands_alone
        ]
        self._whole = {file.sha256: pending.fresh[file.path] for file in whole}
        self._blobs = {file.sha256: file.blob for file in whole}
        taken = list_names(vault.paths.ring, disk=vault.disk)
        self._copies = ring_copies(pending, self._version, taken)
        self._packs = vault.store.pack_names()
        self._refs = {
            **{f"{FILES}/{sha256}": vault.store.file_ref(sha256) for sha256 in self._whole},
            MAIN: pending.parent,
        }

    def run(self) -> Version:
        """Go through the five steps, or take everything back."""
        try:
            stored = self._store_objects()
            commit = stored.commit
            self._store.sync_packs()
            self._read_back(stored)
            self._store.name_files(self._blobs)
            self._publish(commit)
            self._store.let_go(stored.pack)
            enter_copies(self._paths.ring, self._copies, disk=self._disk)
            self._write_journal(commit)
        except BaseException:
            self._take_back()
            raise
        return msgspec.structs.replace(self._version, commit=commit)

    def _store_objects(self) -> StoredCommit:
        extra = [
            data
            for sha256, data in self._whole.items()
            if not self._store.has_file(sha256, self._blobs[sha256])
        ]
        # While the words are found and the parts stored, the ring's copies are written.
        with self._preparing_copies():
            commit = self._commit()
            parts = {**self._parts, RECORD: self._record}
            return self._store.write_commit(parts, extra, commit, self._pending.differences)

    @contextlib.contextmanager
    def _preparing_copies(self) -> Iterator[None]:
        """Write the ring's copies, large ones while the block runs; safe when it is left."""
        if sum(map(len, self._copies.values())) < WORTH_A_THREAD:
            prepare_copies(self._paths.ring, self._copies, disk=self._disk)
            yield
            return
        failed: list[BaseException] = []

        def prepare() -> None:
            try:
                prepare_copies(self._paths.ring, self._copies, disk=self._disk)
            except BaseException as error:
                failed.append(error)

        writer = threading.Thread(target=prepare, name="ring copies")
        before = sys.getswitchinterval()
        sys.setswitchinterval(SWITCH_SECONDS)
        writer.start()
        try:
            yield
        finally:
            writer.join()
            sys.setswitchinterval(before)
        if failed:
            raise failed[0]

    def _commit(self) -> NewCommit:
        pending, self._version = with_words(self._pending, self._version)
        self._record = encode_version(self._version)
        tree = self._store.tree(pending.parent)
        before_aside = [path for path in tree if path.startswith(f"{SET_ASIDE}/")]
        return NewCommit(
            parent=pending.parent,
            removed=[*pending.removed, *before_aside],
            message=pending.message or pending.summary or f"version {self._version.number}",
            author=pending.who,
            email=pending.email,
            seconds=int(pending.time.timestamp()),
            offset_minutes=self._version.offset_minutes,
        )

    def _publish(self, commit: str) -> None:
        self._store.move(MAIN, commit, self._pending.parent)

    def _read_back(self, stored: StoredCommit) -> None:
        """Compare what is on the disk with what was to be written, and let git find its way in.

        Files that are stored whole, perhaps long ago, are read through git as well.
        """
        if not self._store.pack_is_as_written(stored.pack):
            raise ReadBackError("the new part of the history")
        written = [("the record", f"{stored.commit}:{RECORD}", self._record)]
        written += [("a file", oid, self._whole[sha256]) for sha256, oid in self._blobs.items()]
        # Of the parts told by what differs, one shows whether git reads them as they are meant.
        for path in itertools.islice(self._pending.differences, 1):
            written.append(("a part", f"{stored.commit}:{path}", self._pending.changed[path]))
        try:
            answers = self._store.reader.read_all([name for _, name, _ in written])
            for (what, _, data), found in zip(written, answers, strict=True):
                if found is None or found.data != data:
                    raise ReadBackError(what)
        except MissingObjectError as error:
            raise ReadBackError("the new version") from error

    def _write_journal(self, commit: str) -> None:
        files = self._version.files
        entry = Entry(
            number=self._version.number,
            sha256=files[0].sha256 if files else "",
            commit=commit,
            packs=self._store.written_since(self._packs),
            replaces=False,
        )
        append_entry(self._paths.journal, entry, disk=self._disk)

    def _take_back(self) -> None:
        """Undo in the reverse order; where even that fails, the next opening mends it."""
        try:
            for ref, old in reversed(self._refs.items()):
                self._store.put_back(ref, old, holding=self._lock.descriptor)
            withdraw_copies(self._paths.ring, self._copies, disk=self._disk)
            self._store.discard_packs(self._packs)
        except (ShowvaultError, OSError):
            self._lock.abandon()
