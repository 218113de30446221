"""Every pack of the history once more, so that no single damaged file costs a version.

- A second copy is a file of its own in a folder of its own, with the very bytes of the pack.
- Git names a pack by the SHA-1 of its bytes: each copy proves by itself whether it is whole.
- Copies are made after "kept" was said. Until then the ring holds the version once more.
- A copy goes only after its pack was folded into one that has a copy itself.
"""

from showvault.files.disk import DiskError, FileSystem
from showvault.files.durable import copy_durably, make_folder_durably, sync_folder
from showvault.vault.layout import VaultPaths
from showvault.vault.packing import proves_whole
from showvault.vault.quarantine import list_folder
from showvault.vault.store import PACK, Store


def list_second(paths: VaultPaths, disk: FileSystem) -> frozenset[str]:
    """The names of the copies there are. Raises DiskError."""
    return frozenset(filter(PACK.fullmatch, list_folder(paths.second, disk)))


def copy_packs(paths: VaultPaths, store: Store) -> list[str]:
    """Copy every pack that has no copy yet; under the writer's lock.

    Returns the names of those that are damaged themselves. Raises DiskError.
    """
    missing = store.pack_names() - list_second(paths, store.disk)
    if missing:
        make_folder_durably(paths.second, disk=store.disk)
    damaged = []
    for name in sorted(missing):
        pack = paths.packs / name
        if proves_whole(pack):
            copy_durably(pack, paths.second / name, disk=store.disk)
        else:
            damaged.append(name)
    return damaged


def drop_second(paths: VaultPaths, names: frozenset[str], disk: FileSystem) -> None:
    """Remove copies of packs that were folded into another. Raises DiskError."""
    for name in sorted(names):
        try:
            disk.unlink(paths.second / name)
        except OSError as error:
            raise DiskError.from_os(error, "remove a folded pack from", paths.second) from error
    if names:
        sync_folder(paths.second, disk=disk)
