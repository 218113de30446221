"""An open vault: its places, its history, and the locks under which it changes."""

import contextlib
import os
from collections.abc import Iterator, Mapping
from pathlib import Path
from types import TracebackType

from showvault.errors import ShowvaultError
from showvault.files.disk import DISK, FULL, REFUSED, DiskError, FileSystem, shown
from showvault.files.lock import Clock, FileLock, LockHeldError, hold_lock
from showvault.files.space import drop_ballast, renew_ballast
from showvault.vault.description import is_vault
from showvault.vault.journal import last_version, read_journal_end
from showvault.vault.layout import VaultFile, VaultPaths, read_vault_file
from showvault.vault.quarantine import Repair
from showvault.vault.recovery import Rebuild, rebuild_nothing, recover, recover_thoroughly
from showvault.vault.store import Store

WATCHER = "watcher"
WRITER = "writer"
WRITER_WAIT_SECONDS = 60.0
"""How long a save waits for another one; a save takes a second or two."""

WATCHER_WAIT_SECONDS = 0.2
"""Long enough that somebody who only asks who watches is not taken for a watcher."""


class VaultGoneError(ShowvaultError):
    """The vault is not where it was when it was opened."""

    exit_code = 6

    def __init__(self, folder: Path) -> None:
        super().__init__(
            f"the vault is gone from {shown(folder)}: moved, deleted, or its disk is not there",
            hint="put it back where it was, or end this and name its new place with --vault",
        )
        self.folder = folder


class Vault:
    """A vault that is open; close it, or use it with `with`."""

    def __init__(
        self, folder: Path, description: VaultFile, store: Store, clock: Clock, disk: FileSystem
    ) -> None:
        self.folder = folder
        self.paths = VaultPaths(folder)
        self.description = description
        self.store = store
        self.clock = clock
        self.disk = disk
        self.repairs: tuple[Repair, ...] = ()
        """What was mended since it was opened."""

        self.rebuild: Rebuild = rebuild_nothing
        """How what is gone is made anew; whoever can cut a show sets it."""

    def __enter__(self) -> "Vault":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """End what was started for it."""
        self.store.close()

    def is_there(self) -> bool:
        """Whether it is where it was when it was opened, and may be looked into."""
        try:
            return is_vault(self.folder)
        except OSError:
            return False

    def watch_lock(self) -> FileLock:
        """The lock of the one watcher, to be held for life. Raises LockHeldError."""
        return hold_lock(
            *(self.paths.locks, WATCHER, "showvault watch"),
            clock=self.clock,
            wait_seconds=WATCHER_WAIT_SECONDS,
            disk=self.disk,
        )

    @contextlib.contextmanager
    def writing(self, what: str) -> Iterator[FileLock]:
        """Hold the writer's lock; what a dead writer left is mended first.

        Raises VaultGoneError, LockHeldError after a minute, DiskError, and what `recover` raises.
        """
        if not self.is_there():
            # Else the lock's folder would be made anew where the vault must be able to come back.
            raise VaultGoneError(self.folder)
        with hold_lock(
            *(self.paths.locks, WRITER, what),
            clock=self.clock,
            wait_seconds=WRITER_WAIT_SECONDS,
            disk=self.disk,
        ) as lock:
            try:
                if lock.left_by is not None or self._is_unfinished():
                    self.mend(lock)
            except BaseException:
                lock.abandon()  # the next one tries to mend it again
                raise
            yield lock

    def mend(self, lock: FileLock) -> None:
        """Mend what is found wrong, under the writer's lock; tells it in `repairs`."""
        now = self.clock().timestamp()
        try:
            repairs = recover(self.paths, self.store, holding=lock.descriptor, now=now)
            renew_ballast(self.paths.ballast, disk=self.disk)
        except DiskError as error:
            if error.code not in FULL:
                raise
            drop_ballast(self.paths.ballast, disk=self.disk)  # this is what it was laid for
            repairs = recover(self.paths, self.store, holding=lock.descriptor, now=now)
        self.repairs = (*self.repairs, *repairs)

    def mend_thoroughly(self, lock: FileLock) -> None:
        """As `mend`, after a close look at every pack; for a vault whose check failed.

        ``lock`` is the writer's, from `writing`.
        """
        now = self.clock().timestamp()
        repairs = recover_thoroughly(
            self.paths, self.store, holding=lock.descriptor, now=now, rebuild=self.rebuild
        )
        self.repairs = (*self.repairs, *repairs)

    def _is_unfinished(self) -> bool:
        last = last_version(read_journal_end(self.paths.journal))
        try:
            return self.store.head() != (last.commit if last else None)
        except ShowvaultError:
            return True


def open_vault(
    folder: Path,
    *,
    clock: Clock,
    environ: Mapping[str, str] = os.environ,
    disk: FileSystem = DISK,
) -> Vault:
    """Open the vault in ``folder`` and mend what a crash has left, unless a writer is at work.

    Raises NotAVaultError, NewerVaultError, DamagedDescriptionError, GitMissingError, DiskError.
    """
    folder = folder.absolute()
    description = read_vault_file(folder)
    store = Store(VaultPaths(folder).history, environ, disk=disk)
    vault = Vault(folder, description, store, clock, disk)
    try:
        _mend_unless_busy(vault)
    except BaseException:
        vault.close()
        raise
    return vault


def _mend_unless_busy(vault: Vault) -> None:
    try:
        lock = hold_lock(
            *(vault.paths.locks, WRITER, "opening the vault"), clock=vault.clock, disk=vault.disk
        )
    except LockHeldError:
        return
    except DiskError as error:
        if error.code in REFUSED:  # a vault that may only be read can still be read
            return
        raise
    try:
        vault.mend(lock)
    except BaseException:
        lock.abandon()
        raise
    lock.release()
