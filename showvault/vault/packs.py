"""Which packs of the history are whole, and how one that is not is mended.

In this order: its index is made anew; its second copy takes its place; else it goes to the
quarantine, and those of its objects that can still be read are packed anew.
"""

import contextlib
import errno
from collections.abc import Sequence
from pathlib import Path

from showvault.files.disk import DiskError, FileSystem
from showvault.files.durable import copy_durably
from showvault.vault.git import GitError
from showvault.vault.journal import Entry, append_entry, known_packs, read_journal_end
from showvault.vault.layout import VaultPaths
from showvault.vault.loose import set_damaged_loose_aside
from showvault.vault.packing import PACK_MODE, proves_whole
from showvault.vault.quarantine import Repair, list_folder, set_aside
from showvault.vault.salvage import lend_index, move_pack_aside, save_what_is_whole
from showvault.vault.second import list_second
from showvault.vault.store import Store

AT_ONCE = 64
"""Packs that are named in one call: every system's command line is long enough for them."""


def settle_packs(paths: VaultPaths, store: Store, holding: int) -> list[Repair]:
    """Look closely at the packs that no journal line vouches for. Raises DiskError."""
    known = known_packs(read_journal_end(paths.journal))
    here = store.pack_names()
    repairs = _bring_back_packs(paths, store, known - here, holding)
    for name in sorted(_without_index(paths, known & here, store.disk)):
        repairs += _mend_pack(paths, store, name, holding)
    unknown = sorted(here - known)
    for name in unknown:
        _index_again(store, _place(paths, name), holding)
    damaged = _damaged_among(paths, store, unknown)
    whole = [name for name in unknown if name not in damaged]
    good = [name for name in whole if _secure_pack(_place(paths, name), store.disk)]
    for name in sorted(damaged):
        repairs += _mend_pack(paths, store, name, holding)
    repairs += _set_indexes_aside(paths, store.disk)
    if good:
        gone = known - store.pack_names()
        replaces = bool(gone) and is_connected(store)  # somebody else's git packed everything anew
        told = sorted(store.pack_names()) if replaces else good
        entry = Entry(number=0, sha256="", commit="", packs=tuple(told), replaces=replaces)
        append_entry(paths.journal, entry, disk=store.disk)
    return repairs


def mend_packs(paths: VaultPaths, store: Store, holding: int) -> list[Repair]:
    """Look closely at every pack and at every object beside them. Raises DiskError."""
    lost = list_second(paths, store.disk) - store.pack_names()
    repairs = _bring_back_packs(paths, store, lost, holding)
    for name in sorted(_damaged_among(paths, store, sorted(store.pack_names()))):
        repairs += _mend_pack(paths, store, name, holding)
    return [
        *repairs,
        *_mend_second(paths, store, holding),
        *set_damaged_loose_aside(paths, store.disk),
    ]


def pack_is_whole(store: Store, pack: Path) -> bool:
    """Whether every object of a pack and its index are what they were. Raises DiskError."""
    return _are_whole(store, [pack])


def _damaged_among(paths: VaultPaths, store: Store, names: Sequence[str]) -> frozenset[str]:
    """Those packs that are not whole: many are asked of git at once, and one by one if need be."""
    places = [_place(paths, name) for name in names]
    if all(_are_whole(store, places[at : at + AT_ONCE]) for at in range(0, len(places), AT_ONCE)):
        return frozenset()
    return frozenset(place.name for place in places if not pack_is_whole(store, place))


def _are_whole(store: Store, packs: Sequence[Path]) -> bool:
    indexes = [str(pack.with_suffix(".idx")) for pack in packs]
    return store.git.accepts("verify-pack", "--", *indexes, doing="look at packs closely")


def is_connected(store: Store) -> bool:
    """Whether everything is there that the refs lead to; bytes are not read. Raises DiskError."""
    return store.git.accepts(
        "rev-list", "--objects", "--all", "--quiet", doing="look at every version"
    )


def _place(paths: VaultPaths, name: str) -> Path:
    return paths.packs / name


def _bring_back_packs(
    paths: VaultPaths, store: Store, gone: frozenset[str], holding: int
) -> list[Repair]:
    """Put packs that are gone back from their second copies."""
    repairs = []
    for name in sorted(gone & list_second(paths, store.disk)):
        if _put_second(paths, store, name, holding):
            repairs.append(
                Repair("a pack of the history that was gone came back from its second copy")
            )
    return repairs


def _put_second(paths: VaultPaths, store: Store, name: str, holding: int) -> bool:
    pack = _place(paths, name)
    if not proves_whole(paths.second / name):
        return False
    copy_durably(paths.second / name, pack, mode=PACK_MODE, disk=store.disk)
    _index_again(store, pack, holding)
    store.sync_packs()
    return pack_is_whole(store, pack)


def _without_index(paths: VaultPaths, names: frozenset[str], disk: FileSystem) -> list[str]:
    indexed = {name.removesuffix(".idx") for name in list_folder(paths.packs, disk)}
    return [name for name in names if name.removesuffix(".pack") not in indexed]


def _index_again(store: Store, pack: Path, holding: int) -> None:
    """Give a pack that lost its index a new one; what is not whole gets none."""
    if pack.with_suffix(".idx").exists():
        return
    with contextlib.suppress(GitError):
        # No "--" here: index-pack knows none, and the path is absolute.
        store.git.run("index-pack", str(pack), doing="index a pack again", holding=holding)


def _secure_pack(pack: Path, disk: FileSystem) -> bool:
    """Write a pack anew; False where somebody else's git has just folded it into another."""
    # Its sync may have failed without a trace; a new file makes the kernel write every byte.
    for path in (pack, pack.with_suffix(".idx")):
        try:
            copy_durably(path, path, mode=PACK_MODE, disk=disk)
        except DiskError as error:
            if error.code == errno.ENOENT:
                return False
            raise
    return True


def _mend_pack(paths: VaultPaths, store: Store, name: str, holding: int) -> list[Repair]:
    pack = _place(paths, name)
    if not pack.exists():  # somebody else's git has just folded it into another
        return []
    store.close()  # or Windows would not let the file go
    if proves_whole(pack):
        if pack.with_suffix(".idx").exists():
            set_aside(paths, pack.with_suffix(".idx"), store.disk)
        _index_again(store, pack, holding)
        if pack_is_whole(store, pack):
            return [Repair("a damaged index of the history was made anew")]
    aside = move_pack_aside(paths, pack, store.disk)
    if _put_second(paths, store, name, holding):
        return [Repair("a damaged pack of the history was replaced by its second copy")]
    if pack.exists():
        move_pack_aside(paths, pack, store.disk)
    save_what_is_whole(paths, store, aside / "pack" / name, holding)
    if (paths.second / name).exists():  # where the one is damaged, the other may be whole
        also = move_pack_aside(paths, paths.second / name, store.disk)
        lend_index(aside, also, store.disk)
        save_what_is_whole(paths, store, also / "pack" / name, holding)
    return [Repair(f"a damaged pack of the history was moved to quarantine/{aside.name}")]


def _mend_second(paths: VaultPaths, store: Store, holding: int) -> list[Repair]:
    """Make damaged second copies anew; of one whose pack is gone, what is whole is saved."""
    repairs = []
    for name in sorted(list_second(paths, store.disk)):
        copy = paths.second / name
        if proves_whole(copy):
            continue
        aside = move_pack_aside(paths, copy, store.disk)
        if proves_whole(_place(paths, name)):
            copy_durably(_place(paths, name), copy, disk=store.disk)
            repairs.append(Repair("a damaged second copy of a pack was made anew"))
        else:
            save_what_is_whole(paths, store, aside / "pack" / name, holding)
            repairs.append(Repair("a damaged second copy of a pack is in the quarantine"))
    return repairs


def _set_indexes_aside(paths: VaultPaths, disk: FileSystem) -> list[Repair]:
    packs = paths.packs
    names = set(list_folder(packs, disk))
    repairs = []
    for name in sorted(names):
        if name.endswith(".idx") and name.removesuffix(".idx") + ".pack" not in names:
            set_aside(paths, packs / name, disk)
            repairs.append(Repair("an index without its pack was moved to the quarantine"))
    return repairs
