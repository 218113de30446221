"""Where things lie in a vault, and the vault's own format number.

vault.json    what the vault is; written last when one is made, so without it there is none
history.git   every version: an ordinary bare git repository
second        every pack of the history once more, and vault.json: what is damaged is mended from it
ring          the newest versions as plain files
journal       what was reported as kept
locks         the watcher's and the writer's
quarantine    what was found damaged; nothing is deleted
ballast       room that is given back when the disk is full
"""

import contextlib
import os
from collections.abc import Callable, Mapping, Sequence
from datetime import UTC
from pathlib import Path
from typing import Annotated, Any, NamedTuple

import msgspec

from showvault.errors import ShowvaultError
from showvault.files.disk import DISK, DiskError, FileSystem, shown
from showvault.files.durable import (
    PRIVATE_FOLDER,
    make_folder_durably,
    sync_folder,
    write_durably,
)
from showvault.files.lock import Clock, refuse_network_drive
from showvault.files.space import lay_ballast

FORMAT = 1
Upgrade = Callable[[dict[str, Any]], dict[str, Any]]
UPGRADES: Mapping[int, Upgrade] = {}
"""What turns the description of format n into that of n + 1. There is no older format yet."""

CONFIG = b"""[core]
\trepositoryformatversion = 0
\tfilemode = true
\tbare = true
\tfsync = all
\tfsyncMethod = fsync
\tlogAllRefUpdates = false
\tbigFileThreshold = 16m
[gc]
\tauto = 0
[maintenance]
\tauto = false
[receive]
\tdenyDeletes = true
\tdenyNonFastForwards = true
"""


WatchedPath = Annotated[str, msgspec.Meta(pattern=r"^[^\0]+\Z")]


class VaultSettings(msgspec.Struct, frozen=True, kw_only=True):
    """What the user chose for one vault."""

    keep: int = 8
    """How many of the newest versions lie in the ring, 1 or more."""

    remind_minutes: int = 20
    """Minutes without a save after which the watcher speaks up."""

    ignore: tuple[str, ...] = ()
    """Patterns of file names that are no show files."""

    reader_options: dict[str, dict[str, str]] = {}
    """How sources are read, where not as usual: options by the name of their reader."""


class VaultFile(msgspec.Struct, frozen=True, kw_only=True):
    """The description of a vault, `vault.json`."""

    vault_format: int
    id: str
    name: str
    created: str
    """RFC 3339, UTC."""

    watched: Annotated[tuple[WatchedPath, ...], msgspec.Meta(min_length=1)]
    """Absolute paths of the files and folders whose saves are kept here."""

    settings: VaultSettings = VaultSettings()


def packs_of(history: Path) -> Path:
    """Where a repository has its packs (git, gitrepository-layout)."""
    return history / "objects" / "pack"


class VaultPaths(NamedTuple):
    """The places of a vault."""

    folder: Path

    @property
    def description(self) -> Path:
        return self.folder / "vault.json"

    @property
    def description_copy(self) -> Path:
        return self.second / "vault.json"

    @property
    def history(self) -> Path:
        return self.folder / "history.git"

    @property
    def packs(self) -> Path:
        return packs_of(self.history)

    @property
    def second(self) -> Path:
        return self.folder / "second"

    @property
    def ring(self) -> Path:
        return self.folder / "ring"

    @property
    def journal(self) -> Path:
        return self.folder / "journal"

    @property
    def locks(self) -> Path:
        return self.folder / "locks"

    @property
    def quarantine(self) -> Path:
        return self.folder / "quarantine"

    @property
    def ballast(self) -> Path:
        return self.folder / "ballast"


class NotAVaultError(ShowvaultError):
    """There is no vault in the folder."""

    exit_code = 4

    def __init__(self, folder: Path) -> None:
        super().__init__(
            f"there is no vault in {shown(folder)}",
            hint="watching a show makes one; or name another folder with --vault",
        )
        self.folder = folder


class VaultExistsError(ShowvaultError):
    """The folder is taken."""

    def __init__(self, folder: Path) -> None:
        super().__init__(
            f"{shown(folder)} already holds something", hint="choose a folder that is not there yet"
        )
        self.folder = folder


class DamagedDescriptionError(ShowvaultError):
    """`vault.json` cannot be read."""

    exit_code = 7

    def __init__(self, path: Path, reason: str) -> None:
        super().__init__(
            f"{shown(path)} cannot be read: {reason}",
            hint="its versions are still there: history.git beside it is a git repository",
        )
        self.path = path


class NewerVaultError(ShowvaultError):
    """The vault was made by a newer showvault."""

    exit_code = 7

    def __init__(self, folder: Path, found: int) -> None:
        super().__init__(
            f"the vault in {shown(folder)} has format {found}; this showvault knows {FORMAT}",
            hint="use the newer showvault that made it; nothing was changed",
        )
        self.folder = folder
        self.found = found


def create_vault(
    folder: Path,
    *,
    name: str,
    watched: Sequence[Path],
    clock: Clock,
    settings: VaultSettings = VaultSettings(),  # noqa: B008  # frozen
    new_id: Callable[[], str] | None = None,
    disk: FileSystem = DISK,
) -> VaultFile:
    """Make an empty vault in ``folder``, private to this user; a half-made one is completed.

    Raises VaultExistsError, NetworkDriveError, DiskError.
    """
    folder = folder.absolute()
    paths = VaultPaths(folder)
    refuse_network_drive(folder)
    _refuse_foreign(paths)
    for place in (folder, paths.ring, paths.second, paths.locks, paths.quarantine):
        make_folder_durably(place, disk=disk)
    _close_to_others(folder, disk)
    _make_history(paths.history, disk)
    lay_ballast(paths.ballast, disk=disk)
    description = VaultFile(
        vault_format=FORMAT,
        id=new_id() if new_id else os.urandom(16).hex(),
        name=name,
        created=clock().astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
        watched=tuple(str(path.absolute()) for path in watched),
        settings=settings,
    )
    write_vault_file(folder, description, disk=disk)
    return description


def read_vault_file(folder: Path, *, upgrades: Mapping[int, Upgrade] = UPGRADES) -> VaultFile:
    """The description of the vault in ``folder``, lifted to the current format in memory.

    Where it is damaged or gone, its second copy tells. Raises NotAVaultError, NewerVaultError,
    DamagedDescriptionError, DiskError.
    """
    paths = VaultPaths(folder)
    try:
        return read_description(paths.description, upgrades=upgrades)
    except (NotAVaultError, DamagedDescriptionError):
        with contextlib.suppress(NotAVaultError, DamagedDescriptionError, DiskError):
            return read_description(paths.description_copy, upgrades=upgrades)
        raise


def read_description(path: Path, *, upgrades: Mapping[int, Upgrade] = UPGRADES) -> VaultFile:
    """What one copy of the description says; raises as `read_vault_file` does."""
    try:
        if not path.is_file():  # a pipe would be waited for
            raise NotAVaultError(path.parent)
        text = path.read_bytes()
    except OSError as error:
        raise DiskError.from_os(error, "read", path) from error
    try:
        fields = msgspec.json.decode(text, type=dict[str, Any])
        found = msgspec.convert(fields.get("vault_format"), int)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        raise DamagedDescriptionError(path, str(error)) from error
    if found > FORMAT:
        raise NewerVaultError(path.parent, found)
    while found < FORMAT:
        if found not in upgrades:
            raise DamagedDescriptionError(path, f"there never was a format {found}")
        fields = upgrades[found](fields)
        found += 1
    try:
        return msgspec.convert(fields | {"vault_format": found}, VaultFile)
    except msgspec.ValidationError as error:
        raise DamagedDescriptionError(path, str(error)) from error


def write_vault_file(folder: Path, description: VaultFile, *, disk: FileSystem = DISK) -> None:
    """Write the description so that it stays. Raises DiskError."""
    text = msgspec.json.format(msgspec.json.encode(description), indent=2) + b"\n"
    write_durably(VaultPaths(folder).description, text, disk=disk)
    with contextlib.suppress(DiskError):  # the next opening writes it
        write_durably(VaultPaths(folder).description_copy, text, disk=disk)


def _refuse_foreign(paths: VaultPaths) -> None:
    try:
        names = set(DISK.names(paths.folder))
    except (FileNotFoundError, NotADirectoryError):
        names = {"?"} if paths.folder.exists() else set()
    except OSError as error:
        raise DiskError.from_os(error, "look into", paths.folder) from error
    ours = {"history.git", "ring", "second", "locks", "quarantine", "ballast"}
    if not names <= ours and not all(name.startswith(".showvault-") for name in names - ours):
        raise VaultExistsError(paths.folder)


def _close_to_others(folder: Path, disk: FileSystem) -> None:
    try:
        disk.chmod(folder, PRIVATE_FOLDER)
    except OSError as error:
        raise DiskError.from_os(error, "close to others", folder) from error


def _make_history(history: Path, disk: FileSystem) -> None:
    # What `git init --bare` makes, without its sample hooks, and synced (gitrepository-layout).
    for folder in ("objects/pack", "objects/info", "refs/heads", "refs/tags", "refs/showvault"):
        make_folder_durably(history / folder, disk=disk)
    write_durably(history / "config", CONFIG, disk=disk)
    write_durably(history / "HEAD", b"ref: refs/heads/main\n", disk=disk)
    sync_folder(history, disk=disk)
