"""Whether a whole vault is still what was kept: every object, every version, every plain copy."""

from pathlib import Path
from typing import NamedTuple

from showvault.errors import ShowvaultError
from showvault.files.disk import shown
from showvault.vault.opening import Vault
from showvault.vault.reader import MissingObjectError
from showvault.vault.ring import hash_copy, list_copies
from showvault.vault.versions import DamagedVersionError, Version, list_versions, read_file


class Damage(NamedTuple):
    """One thing that is not as it was kept."""

    where: str
    """history, version or ring."""

    sentence: str

    def __str__(self) -> str:
        return self.sentence


def check_vault(vault: Vault) -> list[Damage]:
    """Look at everything, which reads the whole vault from the disk; changes nothing.

    Raises DiskError.
    """
    try:
        versions = list_versions(vault.store)
    except ShowvaultError as error:
        return [*_check_history(vault), Damage("history", str(error))]
    return [
        *_check_history(vault),
        *_check_numbers(versions),
        *_check_files(vault, versions),
        *_check_ring(vault, versions),
    ]


def _check_history(vault: Vault) -> list[Damage]:
    try:
        vault.store.git.run(
            *("fsck", "--full", "--strict", "--no-dangling", "--no-progress"),
            doing="check the history",
        )
    except ShowvaultError as error:
        return [Damage("history", str(error))]
    return []


def _check_numbers(versions: list[Version]) -> list[Damage]:
    damages = []
    for index, version in enumerate(reversed(versions)):
        if version.number != index + 1:
            damages.append(
                Damage("version", f"version {index + 1} has an unreadable record or another number")
            )
    return damages


def _check_files(vault: Vault, versions: list[Version]) -> list[Damage]:
    damages = []
    checked: set[str] = set()
    for version in versions:
        for file in version.files:
            if not file.blob or file.sha256 in checked:
                continue
            checked.add(file.sha256)
            try:
                read_file(vault.store, file)
            except (MissingObjectError, DamagedVersionError) as error:
                damages.append(Damage("version", f"version {version.number}: {error}"))
    return damages


def _check_ring(vault: Vault, versions: list[Version]) -> list[Damage]:
    kept = {version.number: {file.sha256 for file in version.files} for version in versions}
    copies = list_copies(vault.paths.ring, disk=vault.disk)
    damages = [
        Damage("ring", f"the plain copy {copy.name!r} is not what was kept")
        for copy in copies
        if hash_copy(vault.paths.ring / copy.name) not in kept.get(copy.number, set())
    ]
    newest = next((version for version in versions if version.good), None)
    for file in newest.files if newest else ():
        if not any(hash_copy(vault.paths.ring / copy.name) == file.sha256 for copy in copies):
            damages.append(
                Damage("ring", f"the ring has no whole copy of the newest {shown(Path(file.name))}")
            )
    return damages
