"""How bytes get on the disk so that a power cut a moment later does not take them.

- Write a new file beside the old one, sync it, rename it, sync the folder: in this order the old
  or the new bytes are there at every moment, whole (the POSIX rationale of fsync and rename).
- A failed sync is never tried again on the same file: the kernel may have dropped the bytes and
  call the next one a success (L. Rebello et al., "Can Applications Recover from fsync Failures?",
  USENIX ATC 2020). The whole write is done again, by the caller, with a new file.
"""

import contextlib
import itertools
import os
import stat
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from showvault.files.disk import DISK, DiskError, FileSystem

TEMPORARY = ".showvault-"
"""Every temporary file of ours begins so; one that a crash left may be removed under the lock."""

PRIVATE_FILE = 0o600
PRIVATE_FOLDER = 0o700
WRITE_AT_MOST = 8 * 1024 * 1024
"""Bytes given to one write call: some systems refuse two gigabytes at once."""

WORTH_HURRYING = 128 * 1024
"""Bytes; the disk has smaller ones soon enough."""

NOT_READ_SOON = 1024 * 1024
"""Bytes of a copy from which on the memory it fills on its way is better used for the next one."""

_counter = itertools.count()


def write_durably(
    path: Path, data: bytes, *, mode: int = PRIVATE_FILE, disk: FileSystem = DISK
) -> None:
    """Put ``data`` at ``path``, in place of what is there, so that it stays.

    Raises DiskError; then ``path`` is as it was before.
    """
    with _explaining("write", path):
        _put(path, [data], lambda: None, mode, disk)


def replace_durably(path: Path, data: bytes, *, disk: FileSystem = DISK) -> None:
    """As `write_durably`, for a file that belongs to the user: it keeps its permissions.

    A new file gets those of any other new file of this user. Raises DiskError.
    """
    replace_by_pieces(path, [data], lambda: None, disk=disk)


def replace_by_pieces(
    path: Path, pieces: Iterable[bytes], prove: Callable[[], None], *, disk: FileSystem = DISK
) -> None:
    """As `replace_durably`, with bytes that are proved while they are written.

    ``prove`` is asked once they are all on the disk and stand nowhere yet; whatever it raises
    leaves ``path`` as it was. Raises DiskError.
    """
    with _explaining("write", path):
        try:
            mode = stat.S_IMODE(disk.look(path).st_mode)
        except FileNotFoundError:
            mode = 0o666 & ~_umask()
        _put(path, pieces, prove, mode, disk)


def append_durably(path: Path, line: bytes, *, disk: FileSystem = DISK) -> None:
    """Add ``line``, which ends with a line feed, to a record that is only ever added to.

    A line that a crash cut short is closed first, so that it spoils no other. Raises DiskError;
    then the record is as it was, or ends with a line that is cut short.
    """
    with _explaining("add to", path):
        new = not _exists(path, disk)
        descriptor = disk.open(path, os.O_RDWR | os.O_CREAT | os.O_APPEND, PRIVATE_FILE)
        try:
            size = disk.state(descriptor).st_size
            before = b"" if size == 0 or _last_byte(descriptor, size) == b"\n" else b"\n"
            try:
                _write_all(descriptor, before + line, disk, size)
                disk.sync(descriptor)
            except OSError:
                with contextlib.suppress(OSError):
                    disk.truncate(descriptor, size)
                raise
        finally:
            disk.close(descriptor)
        if new:
            disk.sync_folder(path.parent)


def write_unsynced(path: Path, data: bytes, *, disk: FileSystem = DISK) -> None:
    """Put ``data`` at ``path`` whole, without the promise that it survives a power cut.

    For what is worthless after a restart, such as who holds a lock. Raises DiskError.
    """
    with _explaining("write", path):
        temporary = path.with_name(f"{TEMPORARY}{os.getpid()}-{next(_counter)}")
        descriptor = disk.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, PRIVATE_FILE)
        try:
            _write_all(descriptor, data, disk)
        finally:
            disk.close(descriptor)
        disk.replace(temporary, path)


def write_beside(
    path: Path, data: bytes, *, mode: int = PRIVATE_FILE, disk: FileSystem = DISK
) -> None:
    """Put ``data`` at a name that nothing else uses yet, synced, but for the folder's own sync.

    The caller renames it with `move_durably`, which syncs the folder. Raises DiskError.
    """
    with _explaining("write", path):
        descriptor = disk.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode)
        try:
            try:
                _write_all(descriptor, data, disk)
                disk.sync(descriptor)
                if len(data) >= NOT_READ_SOON:
                    disk.uncache(descriptor)
            finally:
                disk.close(descriptor)
        except OSError:
            _forget(path, disk)
            raise


def write_under_its_own_name(
    folder: Path,
    pieces: Iterable[bytes],
    name: Callable[[], str],
    *,
    mode: int = PRIVATE_FILE,
    disk: FileSystem = DISK,
) -> Path:
    """Put ``pieces`` in ``folder`` under the name that ``name`` gives once all are written.

    Synced, but for the folder's own sync, which the caller owes. A file of that name is replaced.
    Raises DiskError; then there is none that was not there before.
    """
    with _explaining("write into", folder):
        temporary = _write_pieces(folder / "new", pieces, mode, disk)
        target = folder / name()
        _rename_or_forget(temporary, target, disk)
        return target


def copy_durably(
    source: Path, target: Path, *, mode: int = PRIVATE_FILE, disk: FileSystem = DISK
) -> None:
    """Put the bytes of ``source`` at ``target`` as `write_durably` does, a piece at a time.

    Raises DiskError; then ``target`` is as it was before.
    """
    with _explaining("copy", source):
        reading = disk.open(source, os.O_RDONLY)
        try:
            pieces = iter(lambda: disk.read(reading, WRITE_AT_MOST), b"")
            temporary = _write_pieces(target, pieces, mode, disk)
        finally:
            disk.close(reading)
        _rename_or_forget(temporary, target, disk)
        disk.sync_folder(target.parent)


def move_durably(source: Path, target: Path, *, disk: FileSystem = DISK) -> None:
    """Rename ``source`` to ``target``, which must not exist, and sync both folders.

    Raises DiskError, also when ``target`` is there already.
    """
    with _explaining("move", target):
        if _exists(target, disk):
            raise FileExistsError(17, "a file of that name is already there")
        disk.replace(source, target)
        disk.sync_folder(target.parent)
        if source.parent != target.parent:
            disk.sync_folder(source.parent)


def swap_in_durably(source: Path, target: Path, *, disk: FileSystem = DISK) -> None:
    """Rename ``source``, which is synced, to ``target`` beside it, over what is there; sync.

    Raises DiskError.
    """
    with _explaining("write", target):
        disk.replace(source, target)
        disk.sync_folder(target.parent)


def remove_durably(path: Path, *, disk: FileSystem = DISK) -> None:
    """Remove ``path`` and sync its folder; a file that is not there is fine. Raises DiskError."""
    with _explaining("remove", path):
        with contextlib.suppress(FileNotFoundError):
            disk.unlink(path)
        disk.sync_folder(path.parent)


def sync_folder(folder: Path, *, disk: FileSystem = DISK) -> None:
    """Make the names in ``folder`` safe: new, renamed and removed ones. Raises DiskError."""
    with _explaining("sync", folder):
        disk.sync_folder(folder)


def make_folder_durably(folder: Path, *, disk: FileSystem = DISK) -> None:
    """Make ``folder`` and the folders above it, private to this user, so that they stay.

    A folder that is there is left as it is. Raises DiskError.
    """
    with _explaining("make", folder):
        if _exists(folder, disk):
            if not folder.is_dir():
                raise NotADirectoryError(20, "something else of that name is there")
            return
        if folder.parent != folder:
            make_folder_durably(folder.parent, disk=disk)
        with contextlib.suppress(FileExistsError):
            disk.mkdir(folder, PRIVATE_FOLDER)
        disk.sync_folder(folder.parent)


@contextlib.contextmanager
def _explaining(doing: str, path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise DiskError.from_os(error, doing, path) from error


def _put(
    path: Path, pieces: Iterable[bytes], prove: Callable[[], None], mode: int, disk: FileSystem
) -> None:
    temporary = _write_pieces(path, pieces, mode, disk)
    try:
        prove()
    except BaseException:
        _forget(temporary, disk)
        raise
    _rename_or_forget(temporary, path, disk)
    disk.sync_folder(path.parent)


def _write_pieces(path: Path, pieces: Iterable[bytes], mode: int, disk: FileSystem) -> Path:
    temporary = path.with_name(f"{TEMPORARY}{os.getpid()}-{next(_counter)}")
    descriptor = disk.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, PRIVATE_FILE)
    try:
        try:
            size = 0
            for piece in pieces:
                size = _write_all(descriptor, piece, disk, size)
            if mode != PRIVATE_FILE:
                disk.chmod(temporary, mode)
            disk.sync(descriptor)
        finally:
            disk.close(descriptor)
    except OSError:
        _forget(temporary, disk)
        raise
    return temporary


def _rename_or_forget(temporary: Path, target: Path, disk: FileSystem) -> None:
    try:
        disk.replace(temporary, target)
    except OSError:
        _forget(temporary, disk)
        raise


def _write_all(descriptor: int, data: bytes, disk: FileSystem, start: int = 0) -> int:
    """Write ``data``, which begins at ``start`` in the file; return where it ends."""
    rest = memoryview(data)
    while rest:
        written = disk.write(descriptor, rest[:WRITE_AT_MOST])
        if written >= WORTH_HURRYING:
            disk.hurry(descriptor, start, written)
        start += written
        rest = rest[written:]
    return start


def _last_byte(descriptor: int, size: int) -> bytes:
    os.lseek(descriptor, size - 1, os.SEEK_SET)
    return os.read(descriptor, 1)


def _exists(path: Path, disk: FileSystem) -> bool:
    try:
        disk.look(path)
    except FileNotFoundError:
        return False
    return True


def _forget(path: Path, disk: FileSystem) -> None:
    with contextlib.suppress(OSError):
        disk.unlink(path)


def _umask() -> int:
    current = os.umask(0o077)
    os.umask(current)
    return current
