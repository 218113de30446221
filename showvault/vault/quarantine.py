"""How something damaged is moved out of the way: never deleted, it might be the last copy."""

from pathlib import Path
from typing import NamedTuple

from showvault.files.disk import DiskError, FileSystem
from showvault.files.durable import copy_durably, move_durably
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


def keep_aside(paths: VaultPaths, found: Path, disk: FileSystem) -> None:
    """Copy something damaged that is about to be replaced to the quarantine, if it is there.

    Were it moved, a cut between here and its replacement would lose what it told of.
    Raises DiskError.
    """
    if found.is_file():
        taken = list_names(paths.quarantine, disk=disk)
        copy_durably(found, paths.quarantine / free_name(found.name, taken), disk=disk)


def list_folder(folder: Path, disk: FileSystem) -> list[str]:
    """The names in a folder; none where there is no folder. Raises DiskError."""
    try:
        return disk.names(folder)
    except (FileNotFoundError, NotADirectoryError):
        return []
    except OSError as error:
        raise DiskError.from_os(error, "look into", folder) from error
