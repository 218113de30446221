"""Which vault protects some show files, made where there is none yet."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import msgspec

from showvault.errors import ShowvaultError
from showvault.files.places import Storage, storage_of
from showvault.vault.description import is_vault
from showvault.vault.finding import NoVaultError, default_vault_folder, find_vault
from showvault.vault.layout import (
    VaultSettings,
    create_vault,
    read_vault_file,
    write_vault_file,
)


class NothingToWatchError(ShowvaultError):
    """A path that should be protected is not there."""

    exit_code = 4

    def __init__(self, path: Path) -> None:
        super().__init__(f"{path} is not there", hint="is the stick in, or the name mistyped?")


@dataclass(frozen=True)
class Chosen:
    """A vault for some paths."""

    folder: Path
    created: bool
    warnings: tuple[str, ...]


def choose_vault(
    paths: Sequence[Path],
    folder: Path | None,
    *,
    keep: int | None,
    environ: Mapping[str, str],
    clock: Callable[[], datetime],
    storage: Callable[[Path], Storage] = storage_of,
) -> Chosen:
    """Find or make the vault that protects these paths, and note in it that it does.

    ``folder`` is the vault that was named, if one was; ``keep`` is how many copies the ring
    holds, if that was said. Raises NothingToWatchError, or what stands against the vault.
    """
    watched = [path.resolve() for path in paths]
    for path in watched:
        if not path.exists():
            raise NothingToWatchError(path)
    found = folder.resolve() if folder is not None else _find(watched[0], environ)
    created = found is None or not is_vault(found)
    if found is None:
        found = default_vault_folder(_name(watched[0]), environ)
    if created:
        settings = VaultSettings() if keep is None else VaultSettings(keep=keep)
        create_vault(found, name=_name(watched[0]), watched=watched, clock=clock, settings=settings)
    else:
        _note(found, watched, keep)
    return Chosen(found, created, tuple(_warnings(found, watched, storage)))


def _find(path: Path, environ: Mapping[str, str]) -> Path | None:
    try:
        return find_vault(path, environ)
    except NoVaultError:
        return None


def _note(folder: Path, watched: Sequence[Path], keep: int | None) -> None:
    before = read_vault_file(folder)
    known = [Path(path) for path in before.watched]
    new = [path for path in watched if not any(path.is_relative_to(root) for root in known)]
    settings = before.settings
    if keep is not None:
        settings = msgspec.structs.replace(settings, keep=keep)
    after = msgspec.structs.replace(
        before, watched=(*before.watched, *map(str, new)), settings=settings
    )
    if after != before:
        write_vault_file(folder, after)


def _name(path: Path) -> str:
    return path.name if path.is_dir() else path.stem


def _warnings(
    folder: Path, watched: Sequence[Path], storage: Callable[[Path], Storage]
) -> list[str]:
    warnings = []
    home = storage(folder)
    for path in watched:
        medium = storage(path)
        if medium.kind == "removable" and medium.mount_point == home.mount_point:
            warnings.append(
                f"the vault lies on the same removable medium as {path.name}: if that is pulled or "
                "lost, both are gone"
            )
        if path.is_dir() and folder.is_relative_to(path):
            warnings.append(
                f"the vault lies inside {path}: if that folder is deleted, the copies go with it"
            )
    return warnings
