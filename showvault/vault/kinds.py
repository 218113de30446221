"""Whether what stands in a vault is of the kind that belongs there: a folder, or a plain file.

Git dies over a folder in the place of an index, and whoever opens a pipe waits for ever: neither
may cost a whole pack or a whole vault, so it is moved out of the way before anything is opened.
"""

import os
import re
import stat
from collections.abc import Iterator
from pathlib import Path

from showvault.files.disk import DiskError, FileSystem
from showvault.files.durable import make_folder_durably, move_durably
from showvault.vault.layout import VaultPaths
from showvault.vault.quarantine import Repair, list_folder, set_aside
from showvault.vault.ring import PENDING, free_name, read_ring_name
from showvault.vault.store import FILES, LABELS, MAIN

FOLDERS = (
    *("ring", "second", "history.git", "history.git/objects", "history.git/objects/pack"),
    *("history.git/objects/info", "history.git/refs", "history.git/refs/heads"),
    *("history.git/refs/tags", "history.git/refs/showvault", f"history.git/{FILES}"),
)
"""Each before those that lie in it."""

FILE_PLACES = (
    *("vault.json", "second/vault.json", "journal", "ballast"),
    *("history.git/HEAD", "history.git/config", "history.git/packed-refs"),
    *(f"history.git/{MAIN}", f"history.git/{LABELS}"),
)
PACK_FILE = re.compile(r"pack-[0-9a-f]{40}\.\w+")


def settle_kinds(paths: VaultPaths, disk: FileSystem) -> list[Repair]:
    """Move what cannot be what its name says to the quarantine. Raises DiskError.

    A link counts as what it leads to. Costs a look at every folder of the history; opens nothing.
    """
    repairs = _settle_quarantine(paths, disk)
    for name in FOLDERS:
        place = paths.folder / name
        if os.path.lexists(place) and not place.is_dir():
            repairs.append(_move(paths, place, disk))
    for place in dict.fromkeys([*_not_plain(paths), *find_endless(paths.history)]):
        repairs.append(_move(paths, place, disk))
    return repairs


def find_endless(folder: Path) -> Iterator[Path]:
    """Pipes, sockets and devices in a repository: git looks into whatever lies among its objects.

    Raises DiskError.
    """
    for entry in _entries(folder):
        if entry.is_dir(follow_symlinks=False):
            yield from find_endless(Path(entry.path))
        elif not _is_file(entry) and _never_ends(Path(entry.path)):
            yield Path(entry.path)


def _not_plain(paths: VaultPaths) -> Iterator[Path]:
    for name in FILE_PLACES:
        place = paths.folder / name
        if os.path.lexists(place) and not place.is_file():
            yield place
    for folder in (paths.packs, paths.second, paths.ring):
        for name in _odd_names(folder):
            if PACK_FILE.fullmatch(name) or read_ring_name(name.removeprefix(PENDING)):
                yield folder / name


def _never_ends(path: Path) -> bool:
    try:
        mode = path.stat().st_mode
    except OSError:  # a link to nothing: git finds nothing there either
        return False
    return not (stat.S_ISREG(mode) or stat.S_ISDIR(mode))


def _is_file(entry: os.DirEntry[str]) -> bool:
    try:
        return entry.is_file()
    except OSError:  # a link that leads round in a circle
        return False


def _odd_names(folder: Path) -> list[str]:
    return [entry.name for entry in _entries(folder) if not _is_file(entry)]


def _entries(folder: Path) -> list[os.DirEntry[str]]:
    """What lies in a folder, in the order of the names; nothing where there is none (any more)."""
    try:
        with os.scandir(folder) as entries:
            return sorted(entries, key=lambda entry: entry.name)
    except FileNotFoundError:
        return []
    except OSError as error:
        raise DiskError.from_os(error, "look into", folder) from error


def _settle_quarantine(paths: VaultPaths, disk: FileSystem) -> list[Repair]:
    """What stands in the quarantine's own place is moved into it once there is one."""
    place = paths.quarantine
    if not os.path.lexists(place) or place.is_dir():
        make_folder_durably(place, disk=disk)
        return []
    beside = paths.folder / free_name(place.name, list_folder(paths.folder, disk))
    move_durably(place, beside, disk=disk)
    make_folder_durably(place, disk=disk)
    return [_move(paths, beside, disk)]


def _move(paths: VaultPaths, found: Path, disk: FileSystem) -> Repair:
    aside = set_aside(paths, found, disk)
    where = found.relative_to(paths.folder).as_posix()
    return Repair(f"something else stood in the place of {where}; it is in quarantine/{aside.name}")
