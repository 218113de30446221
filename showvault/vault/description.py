"""The description of a vault and its second copy: whether there is one, and how they stay alike."""

import os
from pathlib import Path

from showvault.files.disk import DiskError, FileSystem
from showvault.files.durable import write_durably
from showvault.vault.layout import (
    DamagedDescriptionError,
    NotAVaultError,
    VaultPaths,
    read_description,
)
from showvault.vault.quarantine import Repair, keep_aside


def is_vault(folder: Path) -> bool:
    """Whether there is a vault in ``folder``, be its description damaged. Raises OSError."""
    paths = VaultPaths(folder)
    return os.path.lexists(paths.description) or paths.description_copy.is_file()


def settle_description(paths: VaultPaths, disk: FileSystem) -> list[Repair]:
    """Make `vault.json` anew from its copy where it is damaged or gone, else the copy from it.

    Under the writer's lock. Raises NewerVaultError, DamagedDescriptionError, DiskError.
    """
    try:
        read_description(paths.description)
    except (NotAVaultError, DamagedDescriptionError):
        read_description(paths.description_copy)
        keep_aside(paths, paths.description, disk)
        write_durably(paths.description, paths.description_copy.read_bytes(), disk=disk)
        return [Repair("vault.json was damaged or gone; it was made anew from its second copy")]
    text = paths.description.read_bytes()
    if _read(paths.description_copy) != text:
        write_durably(paths.description_copy, text, disk=disk)
    return []


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes() if path.is_file() else b""
    except OSError as error:
        raise DiskError.from_os(error, "read", path) from error
