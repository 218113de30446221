"""A disk whose n-th call fails, as a full or dying one would."""

import errno
import os
from pathlib import Path

from showvault.files.disk import RealFileSystem


class FailingDisk(RealFileSystem):
    """Passes calls on, but for the ``fails_at``-th (from 1); counts them."""

    def __init__(
        self,
        fails_at: int | None = None,
        code: int = errno.EIO,
        *,
        stays: int = 1,
        only: str = "",
    ) -> None:
        super().__init__()
        self.calls = 0
        self.fails_at = fails_at
        self.code = code
        self.stays = stays
        """How many calls in a row fail."""

        self.only = only
        """The one kind of call that fails and counts; empty for all."""

        self.log: list[str] = []

    def _count(self, name: str, path: object) -> None:
        self.log.append(f"{name} {path}")
        if self.only not in ("", name):
            return
        self.calls += 1
        if self.fails_at is not None and self.fails_at <= self.calls < self.fails_at + self.stays:
            raise OSError(self.code, os.strerror(self.code), str(path))

    def open(self, path: Path, flags: int, mode: int = 0o600) -> int:
        self._count("open", path)
        return super().open(path, flags, mode)

    def write(self, descriptor: int, data: memoryview) -> int:
        self._count("write", len(data))
        return super().write(descriptor, data[: max(1, len(data) // 2)])  # short writes, always

    def truncate(self, descriptor: int, size: int) -> None:
        self._count("truncate", size)
        super().truncate(descriptor, size)

    def sync(self, descriptor: int) -> None:
        self._count("sync", descriptor)
        super().sync(descriptor)

    def chmod(self, path: Path, mode: int) -> None:
        self._count("chmod", path)
        super().chmod(path, mode)

    def replace(self, source: Path, target: Path) -> None:
        self._count("replace", target)
        super().replace(source, target)

    def unlink(self, path: Path) -> None:
        self._count("unlink", path)
        super().unlink(path)

    def mkdir(self, path: Path, mode: int) -> None:
        self._count("mkdir", path)
        super().mkdir(path, mode)

    def names(self, folder: Path) -> list[str]:
        self._count("names", folder)
        return super().names(folder)

    def sync_folder(self, folder: Path) -> None:
        self._count("sync_folder", folder)
        descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
