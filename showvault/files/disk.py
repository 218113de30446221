"""What the program asks of the operating system to put bytes on the disk, one call at a time.

Every call that can fail stands here alone, so that a test can let the n-th of them fail.
"""

import contextlib
import errno
import os
import stat
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Protocol

from showvault.errors import ShowvaultError

FULL = frozenset({errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC), errno.EFBIG})
REFUSED = frozenset({errno.EACCES, errno.EPERM, errno.EROFS})

IN_THE_WAY = frozenset({errno.EISDIR, errno.ENOTDIR, errno.EEXIST})

REPLACE_ATTEMPTS = 20
REPLACE_PAUSE_SECONDS = 0.05


class DiskError(ShowvaultError):
    """The disk would not do what keeping needs; what was safe before is still safe."""

    exit_code = 6

    def __init__(self, doing: str, path: Path, reason: str, *, code: int | None = None) -> None:
        super().__init__(
            f"could not {doing} {shown(path)}: {reason}",
            hint=_way_out(code),
        )
        self.doing = doing
        self.path = path
        self.code = code

    @classmethod
    def from_os(cls, error: OSError, doing: str, path: Path) -> "DiskError":
        """Say in one sentence what the system call ``error`` means for ``path``."""
        reason = error.strerror or type(error).__name__
        return cls(doing, path, reason.lower(), code=error.errno)


def shown(path: Path) -> str:
    """A path as it may be printed: nothing in it can steer a terminal."""
    return "".join(
        letter if letter.isprintable() else f"\\x{ord(letter):02x}" for letter in str(path)
    )


def _way_out(code: int | None) -> str:
    if code in FULL:
        return "the disk is full: make room on it; what was kept before is untouched"
    if code in REFUSED:
        return "the folder is not open for writing: check its permissions and the medium's switch"
    if code in IN_THE_WAY:
        return "something else stands there: move it away; what was kept before is untouched"
    return "what was kept before is untouched; check the disk and its cable, then save again"


def replace_patiently(source: Path, target: Path, pause: Callable[[float], None]) -> None:
    """Rename on Windows, where a scanner or an indexer may hold the target for a moment."""
    for _ in range(REPLACE_ATTEMPTS - 1):
        try:
            source.replace(target)
            return
        except PermissionError:
            pause(REPLACE_PAUSE_SECONDS)
    source.replace(target)


class FileSystem(Protocol):
    """The calls that change or read the disk; each raises OSError."""

    def open(self, path: Path, flags: int, mode: int = 0o600) -> int: ...
    def write(self, descriptor: int, data: memoryview) -> int: ...
    def read(self, descriptor: int, size: int) -> bytes: ...
    def truncate(self, descriptor: int, size: int) -> None: ...
    def hurry(self, descriptor: int, start: int, size: int) -> None: ...
    def sync(self, descriptor: int) -> None: ...
    def uncache(self, descriptor: int) -> None: ...
    def close(self, descriptor: int) -> None: ...
    def state(self, descriptor: int) -> os.stat_result: ...
    def look(self, path: Path) -> os.stat_result: ...
    def chmod(self, path: Path, mode: int) -> None: ...
    def replace(self, source: Path, target: Path) -> None: ...
    def unlink(self, path: Path) -> None: ...
    def mkdir(self, path: Path, mode: int) -> None: ...
    def names(self, folder: Path) -> list[str]: ...
    def sync_folder(self, folder: Path) -> None: ...


class RealFileSystem:
    """The disk of this machine."""

    def __init__(self, pause: Callable[[float], None] = time.sleep) -> None:
        self._pause = pause

    def open(self, path: Path, flags: int, mode: int = 0o600) -> int:
        return os.open(path, flags | getattr(os, "O_BINARY", 0) | getattr(os, "O_CLOEXEC", 0), mode)

    def write(self, descriptor: int, data: memoryview) -> int:
        return os.write(descriptor, data)

    def read(self, descriptor: int, size: int) -> bytes:
        return os.read(descriptor, size)

    def truncate(self, descriptor: int, size: int) -> None:
        os.ftruncate(descriptor, size)

    def hurry(self, descriptor: int, start: int, size: int) -> None:
        """Let the disk begin with bytes that were just written, so that a sync waits less.

        Nothing is promised by it; where that is not offered, nothing is done.
        """
        if sys.platform == "linux":
            with contextlib.suppress(OSError):  # the sync will tell what is wrong
                # Writing back what is meant begins at once (Linux, mm/fadvise.c).
                os.posix_fadvise(descriptor, start, size, os.POSIX_FADV_DONTNEED)

    def sync(self, descriptor: int) -> None:
        if sys.platform == "darwin":
            import fcntl

            # Plain fsync leaves the bytes in the drive's own cache there (fsync(2) of macOS).
            try:
                fcntl.fcntl(descriptor, fcntl.F_FULLFSYNC)
            except OSError as error:
                if error.errno not in (errno.ENOTSUP, errno.ENOTTY, errno.EINVAL):
                    raise
                os.fsync(descriptor)
        else:
            os.fsync(descriptor)

    def uncache(self, descriptor: int) -> None:
        """Give back the memory that mirrors a synced file; where that is not offered, nothing."""
        if sys.platform == "linux":
            os.posix_fadvise(descriptor, 0, 0, os.POSIX_FADV_DONTNEED)

    def close(self, descriptor: int) -> None:
        os.close(descriptor)

    def state(self, descriptor: int) -> os.stat_result:
        return os.fstat(descriptor)

    def look(self, path: Path) -> os.stat_result:
        return path.lstat()

    def chmod(self, path: Path, mode: int) -> None:
        path.chmod(mode)

    def replace(self, source: Path, target: Path) -> None:
        if sys.platform == "win32":
            replace_patiently(source, target, self._pause)
        else:
            source.replace(target)

    def unlink(self, path: Path) -> None:
        if sys.platform == "win32":
            path.chmod(stat.S_IWRITE)  # git marks its packs read-only
        path.unlink()

    def mkdir(self, path: Path, mode: int) -> None:
        path.mkdir(mode=mode)

    def names(self, folder: Path) -> list[str]:
        return sorted(os.listdir(folder))  # noqa: PTH208  # names, not paths

    def sync_folder(self, folder: Path) -> None:
        if sys.platform == "win32":  # folders cannot be opened for a flush there
            return
        descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
        try:
            self.sync(descriptor)
        finally:
            os.close(descriptor)


DISK: FileSystem = RealFileSystem()
