"""How a watched file is read so that the bytes are those of one moment.

The file is opened once, without following a link and without waiting on a pipe; what it is, is
asked of the open file; after reading, both the open file and the name must still be the same.
"""

import os
import stat
from pathlib import Path
from typing import NamedTuple

from showvault.errors import ShowvaultError
from showvault.files.disk import DISK, DiskError, FileSystem, shown

LIMIT = 4 * 1024**3
"""Bytes: the largest file that is read unless the caller says otherwise."""

CHUNK = 256 * 1024 * 1024


class FileIdentity(NamedTuple):
    """Which file a name stood for at one moment, and which state of it."""

    device: int
    inode: int
    size: int
    """Bytes."""

    mtime_ns: int
    ctime_ns: int


class SettledFile(NamedTuple):
    """The bytes of a file at one moment."""

    path: Path
    data: bytes
    identity: FileIdentity


class FileGoneError(ShowvaultError):
    """Nothing stands at the path any more."""

    exit_code = 4

    def __init__(self, path: Path) -> None:
        super().__init__(
            f"{shown(path)} is not there", hint="was the medium pulled, or the file renamed?"
        )
        self.path = path


class NotAPlainFileError(ShowvaultError):
    """A link, a pipe, a device or a folder stands where a show file was expected."""

    def __init__(self, path: Path, what: str) -> None:
        super().__init__(
            f"{shown(path)} is {what}, not a plain file", hint="save the show as a plain file"
        )
        self.path = path


class FileTooBigError(ShowvaultError):
    """The file is larger than the limit it is read with."""

    def __init__(self, path: Path, size: int, limit: int) -> None:
        super().__init__(
            f"{shown(path)} has {size:,} bytes; at most {limit:,} are read",
            hint="is this a show file? Tell the vault to ignore it if it is not",
        )
        self.path = path


class StillChangingError(ShowvaultError):
    """The file changed while it was being read."""

    def __init__(self, path: Path) -> None:
        super().__init__(f"{shown(path)} changed while it was read", hint="wait until it rests")
        self.path = path


def identify(path: Path) -> FileIdentity | None:
    """The identity of what stands at ``path``, links not followed; None when nothing does.

    Raises DiskError when the folder cannot be read.
    """
    try:
        return _identity(path.lstat())
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as error:
        raise DiskError.from_os(error, "look at", path) from error


def is_gone(path: Path) -> bool:
    """Whether nothing stands at ``path``; what nobody here may look at counts as there."""
    try:
        return identify(path) is None
    except DiskError:
        return False


def read_settled(path: Path, *, limit: int = LIMIT, disk: FileSystem = DISK) -> SettledFile:
    """Read the whole of ``path``, at most ``limit`` bytes, as it is at one moment.

    Raises FileGoneError, NotAPlainFileError, FileTooBigError, StillChangingError, DiskError.
    """
    try:
        descriptor = _open(path, disk)
        try:
            return _read_open(path, descriptor, limit, disk)
        finally:
            disk.close(descriptor)
    except FileNotFoundError as error:
        raise FileGoneError(path) from error
    except OSError as error:
        raise DiskError.from_os(error, "read", path) from error


def _open(path: Path, disk: FileSystem) -> int:
    # Windows has neither flag; there the look before opening must do.
    before = disk.look(path)
    _refuse_unless_plain(path, before.st_mode)
    flags = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
    return disk.open(path, flags)


def _read_open(path: Path, descriptor: int, limit: int, disk: FileSystem) -> SettledFile:
    state = disk.state(descriptor)
    _refuse_unless_plain(path, state.st_mode)
    if state.st_size > limit:
        raise FileTooBigError(path, state.st_size, limit)
    data = _read_all(path, descriptor, state.st_size, disk)
    identity = _identity(state)
    if not identity == _identity(disk.state(descriptor)) == _identity(disk.look(path)):
        raise StillChangingError(path)
    return SettledFile(path, data, identity)


def _read_all(path: Path, descriptor: int, size: int, disk: FileSystem) -> bytes:
    chunks: list[bytes] = []
    total = 0
    while total <= size:  # one read past the end tells a file that grows
        chunk = disk.read(descriptor, min(CHUNK, size - total + 1))
        if not chunk:
            break
        chunks.append(chunk)
        total += len(chunk)
    if total != size:
        raise StillChangingError(path)
    return chunks[0] if len(chunks) == 1 else b"".join(chunks)


def _identity(state: os.stat_result) -> FileIdentity:
    return FileIdentity(
        state.st_dev, state.st_ino, state.st_size, state.st_mtime_ns, state.st_ctime_ns
    )


KINDS = (
    (stat.S_ISLNK, "a link"),
    (stat.S_ISDIR, "a folder"),
    (stat.S_ISFIFO, "a pipe"),
    (stat.S_ISSOCK, "a socket"),
    (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a device"),
)


def _refuse_unless_plain(path: Path, mode: int) -> None:
    for matches, what in KINDS:
        if matches(mode):
            raise NotAPlainFileError(path, what)
