"""What is mended when a vault is opened, under the writer's lock.

- A vault that was left in order costs a look at a few folders, the end of the journal and one
  question to git; only what no journal line vouches for is looked at closely.
- Nothing that might be the last copy is deleted: it is moved to `quarantine`.
- Every step may be cut short at any point; the next opening does it again.
"""

import re
from pathlib import Path
from typing import NamedTuple

from showvault.errors import ShowvaultError
from showvault.files.disk import DiskError, FileSystem
from showvault.files.durable import (
    TEMPORARY,
    make_folder_durably,
    move_durably,
    remove_durably,
    write_durably,
)
from showvault.vault.journal import (
    Entry,
    append_entry,
    known_packs,
    last_version,
    read_journal,
    read_journal_end,
)
from showvault.vault.layout import VaultPaths
from showvault.vault.parts import RECORD
from showvault.vault.reader import MissingObjectError
from showvault.vault.ring import PENDING, free_name, hash_copy, list_names, read_ring_name
from showvault.vault.store import LABELS, MAIN, OID, DamagedRefError, Store
from showvault.vault.versions import DamagedVersionError, Version, parent_of, read_version

FOREIGN_LOCK_SECONDS = 600.0
"""A lock that only somebody else's git takes is left alone until it is this old."""

FOREIGN_LOCKS = frozenset({"packed-refs.lock", "config.lock", "shallow.lock", "gc.pid.lock"})
LEFTOVER = re.compile(r"(tmp_pack_|tmp_idx_|tmp_rev_|\.tmp-|tmp_obj_).*")


class Repair(NamedTuple):
    """One thing that was mended."""

    sentence: str

    def __str__(self) -> str:
        return self.sentence


def recover(paths: VaultPaths, store: Store, *, holding: int, now: float) -> list[Repair]:
    """Mend the vault; ``holding`` is the descriptor of the writer's lock.

    ``now`` is in seconds since 1970: how old somebody else's lock is.

    Raises DiskError, GitError; what was mended until then stays mended.
    """
    disk = store.disk
    for folder in (paths.ring, paths.quarantine):
        make_folder_durably(folder, disk=disk)
    repairs = _sweep(paths, disk, now)
    repairs += _settle_packs(paths, store, holding)
    repairs += _settle_labels(paths, store)
    repairs += _settle_main(paths, store, holding)
    repairs += _settle_ring(paths, store)
    return repairs


def recover_thoroughly(
    paths: VaultPaths, store: Store, *, holding: int, now: float
) -> list[Repair]:
    """As `recover`, after a close look at every pack: reads the whole history from the disk."""
    repairs = _set_damaged_packs_aside(paths, store, holding)
    try:
        head = store.head()
    except DamagedRefError:
        head = None  # mended below
    if head is not None and not _is_complete(store, head):
        repairs += _go_back(paths, store, head, holding)
    return repairs + recover(paths, store, holding=holding, now=now)


def set_aside(paths: VaultPaths, found: Path, disk: FileSystem) -> Path:
    """Move something damaged to the quarantine, under a free name. Raises DiskError."""
    taken = list_names(paths.quarantine, disk=disk)
    target = paths.quarantine / free_name(found.name, taken)
    move_durably(found, target, disk=disk)
    return target


def _sweep(paths: VaultPaths, disk: FileSystem, now: float) -> list[Repair]:
    """Remove what a crash leaves half-written; it never counted."""
    history = paths.history
    swept = 0
    for folder in (paths.folder, paths.ring, paths.locks, history, history / "objects" / "pack"):
        for name in _names(folder, disk):
            ours = name.startswith((TEMPORARY, "fast_import_crash_")) or LEFTOVER.fullmatch(name)
            if ours and not (folder / name).is_dir():
                remove_durably(folder / name, disk=disk)
                swept += 1
    for folder in (history, *_ref_folders(history / "refs", disk)):
        for name in _names(folder, disk):
            if name.endswith(".lock") and _is_stale(folder / name, disk, now):
                remove_durably(folder / name, disk=disk)
                swept += 1
    swept += _sweep_keeps(history / "objects" / "pack", disk)
    return [Repair(f"removed {swept} half-written files of a save that was cut off")] * bool(swept)


def _sweep_keeps(packs: Path, disk: FileSystem) -> int:
    # fast-import protects a pack while it works and takes the mark away at its end.
    swept = 0
    for name in _names(packs, disk):
        if name.endswith(".keep") and (packs / name).read_bytes().strip() in (b"", b"fast-import"):
            remove_durably(packs / name, disk=disk)
            swept += 1
    return swept


def _settle_packs(paths: VaultPaths, store: Store, holding: int) -> list[Repair]:
    """Look closely at the packs that no journal line vouches for."""
    known = known_packs(read_journal_end(paths.journal))
    packs = paths.history / "objects" / "pack"
    repairs = []
    good = []
    for name in sorted(store.pack_names() - known):
        _index_again(store, packs / name, holding)
        if pack_is_whole(store, packs / name):
            _secure_pack(packs / name, store.disk)
            good.append(name)
        else:
            repairs += _set_pack_aside(paths, store, name, holding)
    repairs += _set_indexes_aside(paths, store.disk)
    if good:
        entry = Entry(number=0, sha256="", commit="", packs=tuple(good), replaces=False)
        append_entry(paths.journal, entry, disk=store.disk)
    return repairs


def pack_is_whole(store: Store, pack: Path) -> bool:
    """Whether every object of a pack and its index are what they were. Raises DiskError."""
    try:
        store.git.run(
            "verify-pack", "--", str(pack.with_suffix(".idx")), doing="look at a pack closely"
        )
    except DiskError:
        raise
    except ShowvaultError:
        return False
    return True


def _index_again(store: Store, pack: Path, holding: int) -> None:
    """Give a pack that lost its index a new one; what is not whole gets none."""
    if pack.with_suffix(".idx").exists():
        return
    try:
        store.git.run("index-pack", "--", str(pack), doing="index a pack again", holding=holding)
    except DiskError:
        raise
    except ShowvaultError:
        return


def _secure_pack(pack: Path, disk: FileSystem) -> None:
    # Its sync may have failed without a trace; a new file makes the kernel write every byte.
    for path in (pack, pack.with_suffix(".idx")):
        write_durably(path, path.read_bytes(), mode=0o400, disk=disk)


def _set_pack_aside(paths: VaultPaths, store: Store, name: str, holding: int) -> list[Repair]:
    """Move a damaged pack away and save those of its objects that are whole."""
    disk = store.disk
    store.close()
    pack = paths.history / "objects" / "pack" / name
    index = pack.with_suffix(".idx")
    moved = set_aside(paths, pack, disk)
    if index.exists():
        set_aside(paths, index, disk)
    try:
        store.git.run(
            *("unpack-objects", "-r", "-q"),
            doing="save what is whole",
            stdin=moved.read_bytes(),
            holding=holding,
        )
    except DiskError:
        raise
    except ShowvaultError:  # it says so when it had to leave something out
        pass
    for folder in _names(paths.history / "objects", disk):
        if len(folder) == 2:
            disk.sync_folder(paths.history / "objects" / folder)
    store.sync_packs()
    return [Repair(f"a damaged pack of the history was moved to {moved.parent.name}/{moved.name}")]


def _set_indexes_aside(paths: VaultPaths, disk: FileSystem) -> list[Repair]:
    packs = paths.history / "objects" / "pack"
    names = set(_names(packs, disk))
    repairs = []
    for name in sorted(names):
        if name.endswith(".idx") and name.removesuffix(".idx") + ".pack" not in names:
            set_aside(paths, packs / name, disk)
            repairs.append(Repair("an index without its pack was moved to the quarantine"))
    return repairs


def _settle_labels(paths: VaultPaths, store: Store) -> list[Repair]:
    try:
        store.ref(LABELS)
    except DamagedRefError:
        set_aside(paths, paths.history / LABELS, store.disk)
    else:
        return []
    for entry in reversed(read_journal(paths.journal)):
        if entry.number == 0 and entry.commit and _reads(store, entry.commit, "labels.json"):
            write_durably(paths.history / LABELS, f"{entry.commit}\n".encode(), disk=store.disk)
            return [Repair("the labels were brought back from the journal")]
    return [Repair("the labels are lost: their ref was damaged and the journal names none")]


def _settle_main(paths: VaultPaths, store: Store, holding: int) -> list[Repair]:
    """Make the branch and the journal agree on the newest version."""
    last = last_version(read_journal_end(paths.journal))
    try:
        head = store.head()
    except DamagedRefError:
        set_aside(paths, paths.history / MAIN, store.disk)
        head = None
    if head == (last.commit if last else None) and (head is None or _reads(store, head, RECORD)):
        return []
    if head is not None and _is_complete(store, head) and _follows(store, head, last):
        return _finish(paths, store, head)
    return _go_back(paths, store, head, holding)


def _finish(paths: VaultPaths, store: Store, head: str) -> list[Repair]:
    """A version was published but not yet reported: it is whole, so it is kept."""
    write_durably(paths.history / MAIN, f"{head}\n".encode(), disk=store.disk)
    version = read_version(store, head)
    append_entry(paths.journal, _entry(version), disk=store.disk)
    return [Repair(f"version {version.number} was stored but not yet reported; it is kept")]


def _go_back(paths: VaultPaths, store: Store, head: str | None, holding: int) -> list[Repair]:
    """Find the newest version that is whole and make it the newest again."""
    repairs = _set_damaged_packs_aside(paths, store, holding)
    entries = read_journal(paths.journal)
    for entry in reversed(entries):
        if entry.number and _is_complete(store, entry.commit):
            write_durably(paths.history / MAIN, f"{entry.commit}\n".encode(), disk=store.disk)
            return [
                *repairs,
                Repair(f"the history was damaged; its newest whole version is {entry.number}"),
                *_record_again(paths, entries, entry, store.disk),
            ]
    if head is not None:
        set_aside(paths, paths.history / MAIN, store.disk)
    lost = Repair("no version in the history is whole; the ring and the quarantine were left alone")
    return [*repairs, lost] if entries or head else repairs


def _record_again(
    paths: VaultPaths, entries: list[Entry], found: Entry, disk: FileSystem
) -> list[Repair]:
    last = last_version(entries)
    if last is None or last.commit == found.commit:
        return []
    append_entry(paths.journal, found._replace(packs=(), replaces=False), disk=disk)
    return [Repair(f"versions {found.number + 1} to {last.number} are damaged in the history")]


def _set_damaged_packs_aside(paths: VaultPaths, store: Store, holding: int) -> list[Repair]:
    repairs = []
    for name in sorted(store.pack_names()):
        if not pack_is_whole(store, paths.history / "objects" / "pack" / name):
            repairs += _set_pack_aside(paths, store, name, holding)
    return repairs


def _settle_ring(paths: VaultPaths, store: Store) -> list[Repair]:
    """Give copies of published versions their names; move copies of no version aside."""
    ring = paths.ring
    repairs = []
    head = store.head()
    newest = read_version(store, head) if head else None
    reported = {entry.number: entry.sha256 for entry in read_journal_end(paths.journal)}
    for name in list_names(ring, disk=store.disk):
        copy = read_ring_name(name.removeprefix(PENDING))
        if copy is None:
            continue
        pending = name.startswith(PENDING)
        if not pending and newest is not None and copy.number <= newest.number:
            continue
        if not pending and reported.get(copy.number) == hash_copy(ring / name):
            continue  # its version is damaged in the history: this is the last copy
        if pending and newest is not None and _belongs(ring / name, copy.number, newest):
            taken = list_names(ring, disk=store.disk)
            move_durably(ring / name, ring / free_name(copy.name, taken), disk=store.disk)
            repairs.append(Repair(f"the plain copy of version {copy.number} got its name"))
        else:
            set_aside(paths, ring / name, store.disk)
            repairs.append(Repair("a plain copy of a save that was cut off is in the quarantine"))
    return repairs


def _belongs(path: Path, number: int, newest: Version) -> bool:
    if number != newest.number or not newest.good:
        return False
    sha256 = hash_copy(path)
    return any(file.sha256 == sha256 for file in newest.files)


def _entry(version: Version) -> Entry:
    sha256 = version.files[0].sha256 if version.files else ""
    return Entry(version.number, sha256, version.commit, (), False)


def _is_complete(store: Store, commit: str) -> bool:
    """Whether everything is there that a version itself consists of."""
    if not OID.fullmatch(commit) or not _reads(store, commit, RECORD):
        return False
    try:
        store.git.run(
            *("rev-list", "--objects", "--no-walk", "--quiet", commit, "--"),
            doing="look at a version",
        )
    except DiskError:
        raise
    except ShowvaultError:
        return False
    return True


def _follows(store: Store, commit: str, last: Entry | None) -> bool:
    """Whether ``commit`` is later than the last version that was reported."""
    at: str | None = commit
    try:
        while at is not None and last is not None and at != last.commit:
            at = parent_of(store, at)
    except MissingObjectError:
        return False
    return last is None or at is not None


def _reads(store: Store, commit: str, path: str) -> bool:
    try:
        if path == RECORD:
            read_version(store, commit)
        else:
            store.reader.read(f"{commit}:{path}")
    except (MissingObjectError, DamagedVersionError):
        return False
    return True


def _is_stale(lock: Path, disk: FileSystem, now: float) -> bool:
    if lock.name not in FOREIGN_LOCKS:
        return True
    try:
        return now - disk.look(lock).st_mtime > FOREIGN_LOCK_SECONDS
    except OSError:
        return False


def _ref_folders(refs: Path, disk: FileSystem) -> list[Path]:
    folders = [refs]
    for folder in folders:
        folders += [folder / name for name in _names(folder, disk) if (folder / name).is_dir()]
    return folders


def _names(folder: Path, disk: FileSystem) -> list[str]:
    try:
        return disk.names(folder)
    except (FileNotFoundError, NotADirectoryError):
        return []
    except OSError as error:
        raise DiskError.from_os(error, "look into", folder) from error
