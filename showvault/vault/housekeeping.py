"""What is tidied once a version is kept.

The ring is turned, the newest pack gets its second copy, and now and then packs are folded.
"""

import re
from pathlib import Path

from showvault.errors import ShowvaultError
from showvault.files.disk import DiskError, FileSystem, shown
from showvault.files.durable import sync_folder
from showvault.vault.git import GitError
from showvault.vault.journal import Entry, append_entry, read_journal
from showvault.vault.opening import Vault
from showvault.vault.packing import proves_whole
from showvault.vault.packs import pack_is_whole
from showvault.vault.reader import MissingObjectError
from showvault.vault.ring import Dated, RingCopy, choose_copies, hash_copy, list_copies
from showvault.vault.second import copy_packs, drop_second, list_second
from showvault.vault.store import Store
from showvault.vault.versions import DamagedVersionError, Version, latest_good, read_version

FOLD_AFTER_PACKS = 64
PACK_NAME = re.compile(r"[0-9a-f]{40}")


class FoldError(ShowvaultError):
    """The new pack is not whole, so the old ones stay."""

    exit_code = 6

    def __init__(self) -> None:
        super().__init__(
            "folding the history went wrong; nothing was removed", hint="check the disk"
        )


def housekeep(vault: Vault) -> list[str]:
    """Turn the ring, and fold the packs when there are many; call it after "kept" was said.

    Returns sentences worth telling. Raises DiskError, GitError, LockHeldError: the version stays
    kept whatever happens here.
    """
    told = turn_ring(vault)
    mended = len(vault.repairs)
    if len(vault.store.pack_names()) >= FOLD_AFTER_PACKS:
        fold_packs(vault)
    else:
        copy_new_packs(vault)
    return told + [str(repair) for repair in vault.repairs[mended:]]


def turn_ring(vault: Vault) -> list[str]:
    """Take away the copies that neither the newest nor the hourly ones need.

    Returns what was left alone for a reason. Raises DiskError.
    """
    with vault.writing("turning the ring"):
        copies = list_copies(vault.paths.ring, disk=vault.disk)
        versions = _versions_of(vault, copies)
        newest = latest_good(vault.store)
        dated = [Dated(version.number, version.moment) for version in versions.values()]
        stay = choose_copies(dated, vault.description.settings.keep)
        stay |= {file.since for file in newest.files} if newest else set()
        gone = [copy for copy in copies if copy.number in versions and copy.number not in stay]
        return _drop_copies(vault.paths.ring, gone, versions, vault.disk)


def copy_new_packs(vault: Vault) -> None:
    """Copy the packs that have no second copy yet; mend what is found damaged on the way.

    Raises DiskError, GitError, LockHeldError.
    """
    with vault.writing("copying the history") as lock:
        if copy_packs(vault.paths, vault.store):
            vault.mend_thoroughly(lock)


def fold_packs(vault: Vault) -> None:
    """Write every object into one pack, with deltas, and remove the many once it is safe.

    What is damaged is mended first: from here on only the new pack and its copy count. What no ref
    names is carried along too. Raises FoldError, DiskError, GitError.
    """
    store = vault.store
    packs = vault.paths.packs
    with vault.writing("folding the history") as lock:
        if not _proves_whole(vault):
            vault.mend_thoroughly(lock)
        before = store.pack_names()
        name = _pack_everything(vault, packs / "pack", lock.descriptor)
        folded = f"pack-{name}.pack"
        store.sync_packs()
        if not PACK_NAME.fullmatch(name) or not pack_is_whole(store, packs / folded):
            raise FoldError
        entry = Entry(number=0, sha256="", commit="", packs=(folded,), replaces=True)
        append_entry(vault.paths.journal, entry, disk=vault.disk)
        copy_packs(vault.paths, store)
        store.close()  # or Windows would not let the old packs go
        _remove_packs(packs, before - {folded}, vault.disk)
        if folded in list_second(vault.paths, vault.disk):
            outdated = list_second(vault.paths, vault.disk) - store.pack_names()
            drop_second(vault.paths, outdated, vault.disk)


def _proves_whole(vault: Vault) -> bool:
    """Whether every pack and every second copy is what it was, and none is gone."""
    packs = vault.paths.packs
    here, second = vault.store.pack_names(), list_second(vault.paths, vault.disk)
    return (
        second <= here
        and all(proves_whole(packs / name) for name in here)
        and all(proves_whole(vault.paths.second / name) for name in second)
    )


def _pack_everything(vault: Vault, target: Path, holding: int) -> str:
    """Pack what the refs lead to; of a history with gaps, all that is there."""
    git = vault.store.git
    options = ("--no-reuse-delta", "-q", "--delta-base-offset", "--honor-pack-keep", str(target))
    doing = "fold the history"
    try:
        answer = git.run(
            *("pack-objects", "--all", "--keep-unreachable", *options), doing=doing, holding=holding
        )
    except GitError:
        listed = git.run(
            *("cat-file", "--batch-all-objects", "--batch-check=%(objectname)"), doing=doing
        )
        answer = git.run("pack-objects", *options, doing=doing, stdin=listed, holding=holding)
    return answer.decode("ascii", "replace").strip()


def _remove_packs(packs: Path, names: frozenset[str], disk: FileSystem) -> None:
    try:
        for name in sorted(names):
            if (packs / name).with_suffix(".keep").exists():
                continue
            # The index first: without it git does not look into the pack any more.
            disk.unlink((packs / name).with_suffix(".idx"))
            disk.unlink(packs / name)
    except OSError as error:
        raise DiskError.from_os(error, "remove a folded pack from", packs) from error
    sync_folder(packs, disk=disk)


def _versions_of(vault: Vault, copies: list[RingCopy]) -> dict[int, Version]:
    """The published versions that the copies are of."""
    wanted = {copy.number for copy in copies}
    commits = {
        entry.number: entry.commit
        for entry in read_journal(vault.paths.journal)
        if entry.number in wanted
    }
    found = {number: _read(vault.store, commit) for number, commit in commits.items()}
    return {
        number: version
        for number, version in found.items()
        if version is not None and version.good and version.number == number
    }


def _read(store: Store, commit: str) -> Version | None:
    try:
        return read_version(store, commit)
    except (MissingObjectError, DamagedVersionError):
        return None


def _drop_copies(
    ring: Path, copies: list[RingCopy], versions: dict[int, Version], disk: FileSystem
) -> list[str]:
    told = []
    removed = 0
    for copy in copies:
        sha256 = hash_copy(ring / copy.name)
        if sha256 not in {file.sha256 for file in versions[copy.number].files}:
            told.append(
                f"{shown(Path(copy.name))} in the ring is not what was kept there; it stays"
            )
            continue
        try:
            disk.unlink(ring / copy.name)
        except OSError as error:
            raise DiskError.from_os(error, "remove", ring / copy.name) from error
        removed += 1
    if removed:
        sync_folder(ring, disk=disk)
    return told
