"""Who may work on a folder now: locks that the kernel forgets when their holder dies.

- The lock is the kernel's, on a file that is never removed; a number in a file proves nothing.
- Beside it a text says who holds it. A text beside a free lock was left by one who died.
- Children of the holder inherit the open file, so the lock stays held while any of them works.
"""

import contextlib
import os
import sys
import time
from collections.abc import Callable
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from types import TracebackType

import msgspec

from showvault.errors import ShowvaultError
from showvault.files.disk import DISK, DiskError, FileSystem, shown
from showvault.files.durable import make_folder_durably, write_unsynced
from showvault.files.places import Storage, storage_of

Clock = Callable[[], datetime]
POLL_SECONDS = 0.02


class Holder(msgspec.Struct, frozen=True):
    """Who holds a lock."""

    pid: int
    host: str
    since: str
    """RFC 3339 time at which it was taken."""

    what: str
    """What the holder does, in a few words."""

    def __str__(self) -> str:
        return f"{self.what} (process {self.pid} on {self.host}, since {_say_time(self.since)})"


def _say_time(text: str) -> str:
    """Say a time as the clock on the wall shows it; a text that is none stays as it is."""
    try:
        return f"{datetime.fromisoformat(text).astimezone():%H:%M on %Y-%m-%d}"
    except ValueError:
        return text


class LockHeldError(ShowvaultError):
    """Somebody else works on the vault."""

    exit_code = 5

    def __init__(self, folder: Path, holder: Holder | None) -> None:
        who = "somebody else" if holder is None else str(holder)
        super().__init__(
            f"{shown(folder.parent)} is in use by {who}",
            hint="wait until it has finished, or end that program",
        )
        self.folder = folder
        self.holder = holder


class NetworkDriveError(ShowvaultError):
    """The folder lies on a network drive, where nobody can know who holds a lock."""

    exit_code = 5

    def __init__(self, folder: Path, file_system: str) -> None:
        super().__init__(
            f"{shown(folder)} lies on a network drive ({file_system or 'shared folder'})",
            hint="name a folder on a disk of this computer with --vault; from there git clone "
            "--mirror can copy its history.git to the network",
        )
        self.folder = folder


class FileLock:
    """A lock that is held; it ends with `release` or with the process."""

    def __init__(self, descriptor: int, text: Path, left_by: Holder | None) -> None:
        self.descriptor = descriptor
        """Pass it on to every child that writes under this lock (`pass_fds`)."""

        self.left_by = left_by
        """Who held it before and died without giving it back; None after an orderly end."""

        self._text = text
        self._held = True

    def release(self) -> None:
        """Give the lock back; a second time does nothing."""
        if not self._held:
            return
        self._held = False
        with contextlib.suppress(OSError):  # a text that stays makes the next start look twice
            self._text.unlink()
        _unlock(self.descriptor)
        os.close(self.descriptor)

    def abandon(self) -> None:
        """Give the lock back as a dying holder would: the next one looks for what is unfinished."""
        if self._held:
            self._held = False
            _unlock(self.descriptor)
            os.close(self.descriptor)

    def __enter__(self) -> "FileLock":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.release()


def hold_lock(
    folder: Path,
    name: str,
    what: str,
    *,
    clock: Clock,
    wait_seconds: float = 0.0,
    pause: Callable[[float], None] = time.sleep,
    disk: FileSystem = DISK,
) -> FileLock:
    """Take the lock ``name`` of ``folder``, waiting at most ``wait_seconds`` for it.

    Raises LockHeldError, NetworkDriveError, DiskError.
    """
    _refuse_network_drive_unless_known(folder)
    make_folder_durably(folder, disk=disk)
    path = folder / f"{name}.lock"
    text = folder / f"{name}.holder"
    try:
        descriptor = disk.open(path, os.O_RDWR | os.O_CREAT, 0o600)
    except OSError as error:
        raise DiskError.from_os(error, "take the lock", path) from error
    try:
        waited = 0.0
        while not _try_lock(descriptor):
            if waited >= wait_seconds:
                raise LockHeldError(folder, _read_text(text))
            pause(POLL_SECONDS)
            waited += POLL_SECONDS
        left_by = _read_text(text)
        holder = Holder(os.getpid(), _host(), clock().isoformat("T", "seconds"), what)
        with contextlib.suppress(DiskError):  # on a full disk the lock holds without its text
            write_unsynced(text, msgspec.json.encode(holder), disk=disk)
    except BaseException:
        os.close(descriptor)
        raise
    return FileLock(descriptor, text, left_by)


def read_holder(folder: Path, name: str) -> Holder | None:
    """Who holds the lock ``name`` of ``folder`` now; None when it is free."""
    path = folder / f"{name}.lock"
    try:
        descriptor = os.open(path, os.O_RDWR | getattr(os, "O_CLOEXEC", 0))
    except OSError:
        return None
    try:
        if _try_lock(descriptor):
            _unlock(descriptor)
            return None
        return _read_text(folder / f"{name}.holder") or Holder(0, "?", "?", "somebody else")
    finally:
        os.close(descriptor)


def refuse_network_drive(folder: Path, *, storage: Callable[[Path], Storage] = storage_of) -> None:
    """Raise NetworkDriveError when ``folder`` lies, or would lie, on a network drive."""
    medium = storage(folder)
    if medium.kind == "network":
        raise NetworkDriveError(folder, medium.file_system)


def _refuse_network_drive_unless_known(folder: Path) -> None:
    """Ask for each mounted file system once: asking may take as long as a small save."""
    try:
        device = folder.stat().st_dev
    except OSError:
        refuse_network_drive(folder)
    else:
        _refuse_network_drive_on(device, folder)


@lru_cache(maxsize=16)
def _refuse_network_drive_on(device: int, folder: Path) -> None:
    refuse_network_drive(folder)  # a refusal is not remembered


def _host() -> str:
    # Not by the module of sockets, whose start costs as much as everything else here.
    if sys.platform == "win32":
        return os.environ.get("COMPUTERNAME", "this computer")
    return os.uname().nodename


def _read_text(path: Path) -> Holder | None:
    try:
        return msgspec.json.decode(path.read_bytes(), type=Holder)
    except (OSError, msgspec.DecodeError):
        return None


if sys.platform == "win32":
    import msvcrt

    def _try_lock(descriptor: int) -> bool:
        try:
            os.lseek(descriptor, 0, os.SEEK_SET)
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

    def _unlock(descriptor: int) -> None:
        os.lseek(descriptor, 0, os.SEEK_SET)
        msvcrt.locking(descriptor, msvcrt.LK_UNLCK, 1)

else:
    import fcntl

    def _try_lock(descriptor: int) -> bool:
        # flock belongs to the open file, so a child that inherits it holds it too (flock(2)).
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def _unlock(descriptor: int) -> None:
        # Without LOCK_UN: a child that still works keeps the lock; closing gives up our share.
        pass
