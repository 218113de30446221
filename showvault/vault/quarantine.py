"""How something damaged is moved out of the way: never deleted, it might be the last copy."""

from pathlib import Path
from typing import NamedTuple

from showvault.files.disk import DiskError, FileSystem
from showvault.files.durable import move_durably
from showvault.vault.layout import VaultPaths
from showvault.vault.ring import free_name, list_names


class Repair(NamedTuple):
    """One thing that was mended."""

    sentence: str

    def __str__(self) -> str:
        return self.sentence


def set_aside(paths: VaultPaths, found: Path, disk: FileSystem) -> Path:
    """Move something damaged to the quarantine, under a free name. Raises DiskError."""
    taken = list_names(paths.quarantine, disk=disk)
    target = paths.quarantine / free_name(found.name, taken)
    move_durably(found, target, disk=disk)
    return target


def list_folder(folder: Path, disk: FileSystem) -> list[str]:
    """The names in a folder; none where there is no folder. Raises DiskError."""
    try:
        return disk.names(folder)
    except (FileNotFoundError, NotADirectoryError):
        return []
    except OSError as error:
        raise DiskError.from_os(error, "look into", folder) from error
