"""Objects that lie alone in the history, as mending leaves them: which are not whole."""

import re
import zlib
from pathlib import Path

from showvault.files.disk import FileSystem
from showvault.vault.layout import VaultPaths
from showvault.vault.quarantine import Repair, list_folder, set_aside

FOLDER = re.compile(r"[0-9a-f]{2}")
REST = re.compile(r"[0-9a-f]{38}")


def damaged_loose(paths: VaultPaths, disk: FileSystem) -> list[Path]:
    """The objects that are not what their names say. Raises DiskError."""
    objects = paths.history / "objects"
    return [
        objects / folder / rest
        for folder in filter(FOLDER.fullmatch, list_folder(objects, disk))
        for rest in filter(REST.fullmatch, list_folder(objects / folder, disk))
        if not _is_whole(objects / folder / rest)
    ]


def set_damaged_loose_aside(paths: VaultPaths, disk: FileSystem) -> list[Repair]:
    """Move what is damaged away: git writes nothing that it believes to have. Raises DiskError."""
    return [
        Repair(f"a damaged object of the history was moved to quarantine/{moved.name}")
        for moved in [set_aside(paths, found, disk) for found in damaged_loose(paths, disk)]
    ]


def _is_whole(path: Path) -> bool:
    import hashlib

    try:
        data = zlib.decompress(path.read_bytes())
    except (OSError, zlib.error):
        return False
    told = path.parent.name + path.name
    return hashlib.sha1(data, usedforsecurity=False).hexdigest() == told
