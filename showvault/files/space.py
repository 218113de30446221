"""Whether a disk has room for what is about to be written, and a reserve for bad days."""

import os
from pathlib import Path

from showvault.files.disk import DISK, DiskError, FileSystem, shown
from showvault.files.durable import PRIVATE_FILE

RESERVE = 4 * 1024 * 1024
"""Bytes of the ballast: enough to mend a vault and to remove old copies on a full disk."""

AMPLE = 10
"""Times the reserve that must be free before it is laid again."""


class NoRoomError(DiskError):
    """There is not enough room left to write safely, so nothing was begun."""

    def __init__(self, folder: Path, needed: int, free: int) -> None:
        reason = f"it needs {_readable(needed)} and {_readable(free)} are free"
        super().__init__("keep a version in", folder, reason)
        self.hint = f"make room on the disk of {shown(folder)}; what was kept before is untouched"
        self.needed = needed
        self.free = free


def free_space(folder: Path) -> int:
    """Bytes this user can still write on the disk of ``folder``. Raises DiskError."""
    import shutil

    try:
        return shutil.disk_usage(folder).free
    except OSError as error:
        raise DiskError.from_os(error, "ask for the room on the disk of", folder) from error


def require_space(folder: Path, size: int) -> None:
    """Raise NoRoomError unless ``size`` bytes are free on the disk of ``folder``."""
    free = free_space(folder)
    if free < size:
        raise NoRoomError(folder, size, free)


def lay_ballast(path: Path, *, disk: FileSystem = DISK) -> None:
    """Occupy `RESERVE` bytes at ``path`` that `drop_ballast` can give back. Raises DiskError."""
    try:
        descriptor = disk.open(path, os.O_WRONLY | os.O_CREAT, PRIVATE_FILE)
        try:
            missing = RESERVE - disk.state(descriptor).st_size
            os.lseek(descriptor, 0, os.SEEK_END)
            while missing > 0:
                # Noise, not zeros: some disks and file systems store zeros as nothing.
                missing -= disk.write(descriptor, memoryview(os.urandom(min(missing, 1 << 20))))
        finally:
            disk.close(descriptor)
    except OSError as error:
        raise DiskError.from_os(error, "lay the reserve", path) from error


def renew_ballast(path: Path, *, disk: FileSystem = DISK) -> None:
    """Lay the reserve again where it is missing and there is ample room. Raises DiskError."""
    if not path.exists() and free_space(path.parent) > AMPLE * RESERVE:
        lay_ballast(path, disk=disk)


def drop_ballast(path: Path, *, disk: FileSystem = DISK) -> None:
    """Give the reserve back to the disk; fine when there is none. Raises DiskError."""
    try:
        disk.unlink(path)
    except FileNotFoundError:
        return
    except OSError as error:
        raise DiskError.from_os(error, "give back the reserve", path) from error


def _readable(size: int) -> str:
    for unit, factor in (("GB", 10**9), ("MB", 10**6), ("kB", 10**3)):
        if size >= factor:
            return f"{size / factor:.1f} {unit}"
    return f"{size} bytes"
