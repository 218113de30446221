"""What is mended when a vault is opened, under the writer's lock.

- A vault that was left in order costs a look at a few folders, the end of the journal and one
  question to git; only what no journal line vouches for is looked at closely.
- Nothing that might be the last copy is deleted: it is moved to `quarantine`.
- Every step may be cut short at any point; the next opening does it again.
"""

from collections.abc import Callable, Iterable
from pathlib import Path

from showvault.files.disk import FileSystem
from showvault.files.durable import (
    make_folder_durably,
    move_durably,
    remove_durably,
    write_durably,
)
from showvault.vault.description import settle_description
from showvault.vault.framing import mend_frame
from showvault.vault.held_files import (
    hold_files,
    set_damaged_refs_aside,
    settle_held_files,
    stored_whole,
)
from showvault.vault.journal import (
    Entry,
    append_entry,
    last_version,
    newest_entries,
    read_journal,
    read_journal_end,
)
from showvault.vault.kinds import settle_kinds
from showvault.vault.lacking import find_lacking
from showvault.vault.layout import VaultPaths
from showvault.vault.packing import pack_object
from showvault.vault.packs import mend_packs, settle_packs
from showvault.vault.quarantine import Repair, keep_aside, set_aside
from showvault.vault.reader import MissingObjectError
from showvault.vault.relabelling import recall_labels, settle_labels
from showvault.vault.ring import PENDING, free_name, hash_copy, list_names, read_ring_name
from showvault.vault.store import MAIN, OID, DamagedRefError, Store
from showvault.vault.sweeping import sweep
from showvault.vault.versions import (
    DamagedVersionError,
    Version,
    parent_of,
    read_version,
    read_versions,
)

Rebuild = Callable[[frozenset[str]], Iterable[tuple[str, bytes]]]
"""Makes objects of which only the ids are left, as kind and bytes, from what lies elsewhere."""


def rebuild_nothing(wanted: frozenset[str]) -> Iterable[tuple[str, bytes]]:
    """For whoever cannot cut a show: nothing is made."""
    return ()


def recover(paths: VaultPaths, store: Store, *, holding: int, now: float) -> list[Repair]:
    """Mend the vault; ``holding`` is the descriptor of the writer's lock.

    ``now`` is in seconds since 1970: how old somebody else's lock is.

    Raises DiskError, GitError; what was mended until then stays mended.
    """
    disk = store.disk
    repairs = settle_kinds(paths, disk)
    for folder in (paths.ring, paths.second):
        make_folder_durably(folder, disk=disk)
    repairs += settle_description(paths, disk)
    repairs += [*sweep(paths, disk, now), *mend_frame(paths, store)]
    repairs += settle_packs(paths, store, holding)
    repairs += settle_labels(paths, store, holding=holding, now=now)
    repairs += _settle_main(paths, store, holding)
    head = store.head()
    newest = read_version(store, head) if head else None
    repairs += settle_held_files(paths, store, newest)
    repairs += _settle_ring(paths, store, newest)
    return repairs


def recover_thoroughly(
    paths: VaultPaths, store: Store, *, holding: int, now: float, rebuild: Rebuild
) -> list[Repair]:
    """As `recover`, after a close look at every pack: reads the whole history from the disk.

    What is gone for good is asked of ``rebuild``.
    """
    repairs = [*settle_kinds(paths, store.disk), *mend_frame(paths, store)]
    set_damaged_refs_aside(paths, store.disk)
    repairs += mend_packs(paths, store, holding)
    repairs += _rebuild(paths, store, rebuild)
    repairs += [*recall_labels(paths, store), *_go_forward(paths, store)]
    try:
        head = store.head()
    except DamagedRefError:
        head = None  # mended below
    if head is not None and not _is_complete(store, head):
        repairs += _go_back(paths, store, head, holding)
    repairs += recover(paths, store, holding=holding, now=now)
    return repairs + hold_files(paths, store)


def _rebuild(paths: VaultPaths, store: Store, rebuild: Rebuild) -> list[Repair]:
    """Store anew what versions lack, as far as ``rebuild`` can give it."""
    made = 0
    # A folder that is made again may name more that is gone, so it is asked until nothing comes.
    while wanted := _gone(paths, store):
        packed = (pack_object(kind, data) for kind, data in rebuild(wanted))
        found = {one.oid: one for one in packed if one.oid in wanted}
        if not found:
            break
        store.write_objects(found.values())
        made += len(found)
        store.close()
    return [Repair(f"{made} lost parts of the history were brought back")] * bool(made)


def _gone(paths: VaultPaths, store: Store) -> frozenset[str]:
    """What the versions that were reported, and their labels, should consist of and do not."""
    entries = read_journal(paths.journal)
    commits = sorted({entry.commit for entry in entries if entry.commit})
    numbered = [entry.commit for entry in newest_entries(entries).values()]
    files = stored_whole([*read_versions(store, numbered)])
    named = {*commits, *files.values()}
    gone = named - store.kinds_of(named).keys()
    return frozenset(gone.union(*find_lacking(store, commits).values()))


def _go_forward(paths: VaultPaths, store: Store) -> list[Repair]:
    """Make the last version the newest again that was gone and is whole now."""
    entries = newest_entries(read_journal(paths.journal))
    last = entries[max(entries)] if entries else None
    try:
        head = store.head()
    except DamagedRefError:  # mended with the rest
        return []
    if last is None or head == last.commit or not _is_complete(store, last.commit):
        return []
    if head is not None and not _follows(store, last.commit, last._replace(commit=head)):
        return []
    write_durably(paths.history / MAIN, f"{last.commit}\n".encode(), disk=store.disk)
    append_entry(paths.journal, last._replace(packs=(), replaces=False), disk=store.disk)
    return [Repair(f"version {last.number} is whole again, and the newest")]


def _settle_main(paths: VaultPaths, store: Store, holding: int) -> list[Repair]:
    """Make the branch and the journal agree on the newest version."""
    last = last_version(read_journal_end(paths.journal))
    try:
        head = store.head()
    except DamagedRefError:
        set_aside(paths, paths.history / MAIN, store.disk)
        head = store.head()  # an older one, where another git has packed the refs
    if head == (last.commit if last else None) and (head is None or _reads(store, head)):
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
    repairs = mend_packs(paths, store, holding)
    entries = read_journal(paths.journal)
    for entry in reversed(entries):
        if entry.number and _is_complete(store, entry.commit):
            write_durably(paths.history / MAIN, f"{entry.commit}\n".encode(), disk=store.disk)
            told = Repair(f"the history was damaged; its newest whole version is {entry.number}")
            return [
                *repairs,
                *[told] * (not repairs or entry.commit != head),
                *_record_again(paths, entries, entry, store.disk),
            ]
    if head is not None:
        _move_main_aside(paths, store)
    lost = Repair("no version in the history is whole; the ring and the quarantine were left alone")
    return [*repairs, lost] if entries or head else repairs


def _move_main_aside(paths: VaultPaths, store: Store) -> None:
    """Let the branch point nowhere, neither by its own file nor by a line of `packed-refs`."""
    for place in (paths.history / MAIN, paths.history / "packed-refs"):
        keep_aside(paths, place, store.disk)
    remove_durably(paths.history / MAIN, disk=store.disk)
    packed = paths.history / "packed-refs"
    if packed.is_file():
        lines = packed.read_bytes().splitlines(keepends=True)
        others = [line for line in lines if not line.endswith(b" %s\n" % MAIN.encode())]
        write_durably(packed, b"".join(others), disk=store.disk)


def _record_again(
    paths: VaultPaths, entries: list[Entry], found: Entry, disk: FileSystem
) -> list[Repair]:
    last = last_version(entries)
    if last is None or last.commit == found.commit:
        return []
    append_entry(paths.journal, found._replace(packs=(), replaces=False), disk=disk)
    return [Repair(f"versions {found.number + 1} to {last.number} are damaged in the history")]


def _settle_ring(paths: VaultPaths, store: Store, newest: Version | None) -> list[Repair]:
    """Give copies of published versions their names; move copies of no version aside."""
    ring = paths.ring
    repairs = []
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
    if not OID.fullmatch(commit) or not _reads(store, commit):
        return False
    return store.git.accepts(
        *("rev-list", "--objects", "--no-walk", "--quiet", commit, "--"), doing="look at a version"
    )


def _follows(store: Store, commit: str, last: Entry | None) -> bool:
    """Whether ``commit`` is later than the last version that was reported."""
    at: str | None = commit
    try:
        while at is not None and last is not None and at != last.commit:
            at = parent_of(store, at)
    except MissingObjectError:
        return False
    return last is None or at is not None


def _reads(store: Store, commit: str) -> bool:
    try:
        read_version(store, commit)
    except (MissingObjectError, DamagedVersionError):
        return False
    return True
