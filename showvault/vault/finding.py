"""Which vault is meant when nobody says so: the one that is set, else the one that watches here.

- `SHOWVAULT_HOME` names the folder of vaults and settings; else the user's own data folder holds
  the vaults, and their configuration folder the settings.
- `config.toml` among the settings may say `vault = "…"`.
- A vault that lies elsewhere is remembered by a line in `vaults.txt`, so that it is found again.
"""

import contextlib
import os
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path

from showvault.errors import ShowvaultError
from showvault.files.disk import DISK, DiskError, FileSystem, shown
from showvault.files.durable import append_durably, make_folder_durably
from showvault.vault.description import is_vault
from showvault.vault.layout import NotAVaultError, VaultFile, read_vault_file
from showvault.vault.parts import safe_name

HOME = "SHOWVAULT_HOME"
CONFIG = "config.toml"
ELSEWHERE = "vaults.txt"


class NoVaultError(ShowvaultError):
    """No vault is set, and none watches the path."""

    exit_code = 4

    def __init__(self, path: Path | None) -> None:
        where = "" if path is None else f" watches {shown(path)}"
        super().__init__(
            f"no vault{where}" if where else "there is no vault yet",
            hint="`showvault watch` makes one for a show; or name a vault with --vault",
        )
        self.path = path


class SeveralVaultsError(ShowvaultError):
    """More than one vault could be meant."""

    exit_code = 2

    def __init__(self, folders: Sequence[Path]) -> None:
        super().__init__(
            f"{len(folders)} vaults could be meant",
            hint="be in the show's folder, or name one with --vault:\n"
            + "\n".join(f"    {shown(folder)}" for folder in folders[:5]),
        )
        self.folders = tuple(folders)


class UnreadableConfigError(ShowvaultError):
    """The configuration file says something else than which vault is meant."""

    exit_code = 2

    def __init__(self, path: Path, reason: str) -> None:
        super().__init__(
            f"{shown(path)} cannot be used: {reason}", hint='it may say: vault = "/folder/of/vault"'
        )
        self.path = path


def data_folder(environ: Mapping[str, str] = os.environ) -> Path:
    """Where vaults lie unless somebody says otherwise; it need not exist."""
    if environ.get(HOME):
        return Path(environ[HOME]).absolute()
    import platformdirs

    return Path(platformdirs.user_data_dir("showvault", appauthor=False))


def configuration_file(environ: Mapping[str, str] = os.environ) -> Path:
    """Where people say which vault is meant always; it need not exist."""
    if environ.get(HOME):
        return data_folder(environ) / CONFIG
    import platformdirs

    return Path(platformdirs.user_config_dir("showvault", appauthor=False)) / CONFIG


def default_vault_folder(name: str, environ: Mapping[str, str] = os.environ) -> Path:
    """Where a new vault for the production ``name`` goes: a folder that is free.

    Raises what stands against reading a vault of that name: it may be the one that is meant, and a
    second one beside it would be taken for it from then on.
    """
    vaults = data_folder(environ) / "vaults"
    plain = safe_name(name, longest=80)
    folder, count = vaults / plain, 1
    while folder.exists():
        with contextlib.suppress(NotAVaultError):
            read_vault_file(folder)
        count += 1
        folder = vaults / f"{plain} {count}"
    return folder


def remember_vault(
    folder: Path, environ: Mapping[str, str] = os.environ, *, disk: FileSystem = DISK
) -> None:
    """Have a vault outside the data folder found again. Raises DiskError."""
    folder = folder.absolute()
    if folder in all_vaults(environ):
        return
    home = data_folder(environ)
    make_folder_durably(home, disk=disk)
    line = os.fsencode(folder).replace(b"\n", b"?") + b"\n"
    append_durably(home / ELSEWHERE, line, disk=disk)


def all_vaults(environ: Mapping[str, str] = os.environ) -> list[Path]:
    """The folders of every vault that is known here, sorted. Raises DiskError."""
    home = data_folder(environ)
    try:
        listed = (home / ELSEWHERE).read_bytes().split(b"\n")
    except FileNotFoundError:
        listed = []
    except OSError as error:
        raise DiskError.from_os(error, "read", home / ELSEWHERE) from error
    folders = {Path(os.fsdecode(line)) for line in listed if line}
    if (home / "vaults").is_dir():
        folders |= set((home / "vaults").iterdir())
    return sorted(filter(_is_vault, folders))


def find_vault(path: Path | None, environ: Mapping[str, str] = os.environ) -> Path:
    """The vault that is meant at ``path``: a show file, a folder, or None for anywhere.

    Raises NoVaultError, SeveralVaultsError, UnreadableConfigError.
    """
    configured = _configured(configuration_file(environ))
    if configured is not None:
        return configured
    found = []
    for folder in all_vaults(environ):
        description = _describe(folder)
        if description and (path is None or watches(description, path)):
            found.append(folder)
    match found:
        case [one]:
            return one
        case []:
            raise NoVaultError(path)
        case _:
            raise SeveralVaultsError(found)


def watches(description: VaultFile, path: Path) -> bool:
    """Whether a vault watches ``path``, a folder above it, or something in it."""
    place = Path(os.path.realpath(path))
    for text in description.watched:
        watched = Path(os.path.realpath(text))
        if place == watched or watched in place.parents or place in watched.parents:
            return True
    return False


def _is_vault(folder: Path) -> bool:
    try:
        return is_vault(folder)
    except OSError:  # a line that is no path here
        return False


def _describe(folder: Path) -> VaultFile | None:
    try:
        return read_vault_file(folder)
    except ShowvaultError:  # a damaged one must not hide the others; naming it tells why
        return None


def _configured(path: Path) -> Path | None:
    try:
        settings = tomllib.loads(path.read_text("utf-8"))
    except FileNotFoundError:
        return None
    except OSError as error:
        raise DiskError.from_os(error, "read", path) from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise UnreadableConfigError(path, str(error)) from error
    match settings.get("vault"):
        case None:
            return None
        case str(folder) if folder:
            return (path.parent / Path(folder).expanduser()).absolute()
        case _:
            raise UnreadableConfigError(path, "`vault` is not the name of a folder")
