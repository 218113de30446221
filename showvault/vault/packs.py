"""Which packs of the history are whole, and what is saved of one that is not."""

from pathlib import Path

from showvault.errors import ShowvaultError
from showvault.files.disk import DiskError, FileSystem
from showvault.files.durable import sync_folder, write_durably
from showvault.vault.journal import Entry, append_entry, known_packs, read_journal_end
from showvault.vault.layout import VaultPaths
from showvault.vault.quarantine import Repair, list_folder, set_aside
from showvault.vault.store import Store


def settle_packs(paths: VaultPaths, store: Store, holding: int) -> list[Repair]:
    """Look closely at the packs that no journal line vouches for. Raises DiskError."""
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


def set_damaged_packs_aside(paths: VaultPaths, store: Store, holding: int) -> list[Repair]:
    """Look closely at every pack. Raises DiskError."""
    repairs = []
    for name in sorted(store.pack_names()):
        if not pack_is_whole(store, paths.history / "objects" / "pack" / name):
            repairs += _set_pack_aside(paths, store, name, holding)
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
    for folder in list_folder(paths.history / "objects", disk):
        if len(folder) == 2:
            disk.sync_folder(paths.history / "objects" / folder)
    sync_folder(paths.history / "objects", disk=disk)
    store.sync_packs()
    return [Repair(f"a damaged pack of the history was moved to {moved.parent.name}/{moved.name}")]


def _set_indexes_aside(paths: VaultPaths, disk: FileSystem) -> list[Repair]:
    packs = paths.history / "objects" / "pack"
    names = set(list_folder(packs, disk))
    repairs = []
    for name in sorted(names):
        if name.endswith(".idx") and name.removesuffix(".idx") + ".pack" not in names:
            set_aside(paths, packs / name, disk)
            repairs.append(Repair("an index without its pack was moved to the quarantine"))
    return repairs
