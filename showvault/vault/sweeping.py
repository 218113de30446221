"""What a crash leaves half-written, and how it is swept: it never counted."""

import re
from pathlib import Path

from showvault.files.disk import FileSystem
from showvault.files.durable import TEMPORARY, remove_durably
from showvault.vault.layout import VaultPaths
from showvault.vault.quarantine import Repair, list_folder

FOREIGN_LOCK_SECONDS = 600.0
"""A lock that only somebody else's git takes is left alone until it is this old."""

FOREIGN_LOCKS = frozenset({"packed-refs.lock", "config.lock", "shallow.lock", "gc.pid.lock"})
LEFTOVER = re.compile(r"(tmp_pack_|tmp_idx_|tmp_rev_|\.tmp-|tmp_obj_).*")


def sweep(paths: VaultPaths, disk: FileSystem, now: float) -> list[Repair]:
    """Remove what is half-written; ``now`` is in seconds since 1970. Raises DiskError."""
    history = paths.history
    swept = 0
    packs = paths.packs
    for folder in (paths.folder, paths.ring, paths.second, paths.locks, history, packs):
        for name in list_folder(folder, disk):
            ours = name.startswith(TEMPORARY) or LEFTOVER.fullmatch(name)
            if ours and not (folder / name).is_dir():
                remove_durably(folder / name, disk=disk)
                swept += 1
    for folder in (history, *_ref_folders(history / "refs", disk)):
        for name in list_folder(folder, disk):
            if name.endswith(".lock") and _is_stale(folder / name, disk, now):
                remove_durably(folder / name, disk=disk)
                swept += 1
    return [Repair(f"removed {swept} half-written files of a save that was cut off")] * bool(swept)


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
        folders += [folder / name for name in list_folder(folder, disk) if (folder / name).is_dir()]
    return folders
