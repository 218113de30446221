"""Whether a whole vault is still what was kept: every object, every version, every plain copy."""

from pathlib import Path
from typing import NamedTuple

from showvault.errors import ShowvaultError
from showvault.files.disk import shown
from showvault.vault.journal import read_journal
from showvault.vault.opening import Vault
from showvault.vault.quarantine import Repair
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


def mend_vault(vault: Vault) -> list[Repair]:
    """Look at every pack closely and mend what is found, for a vault whose check failed.

    What is damaged is moved to the quarantine; what is whole in it is saved. Raises
    LockHeldError, DiskError, GitError.
    """
    before = len(vault.repairs)
    with vault.writing("mending the vault") as lock:
        vault.mend_thoroughly(lock)
    return list(vault.repairs[before:])


def _check_history(vault: Vault) -> list[Damage]:
    try:
        vault.store.git.run(
            *("fsck", "--full", "--strict", "--no-dangling", "--no-progress"),
            doing="check the history",
        )
    except ShowvaultError as error:
        return [Damage("history", str(error))]
    return []


def copies_without_version(vault: Vault) -> list[Path]:
    """Plain copies of versions that were reported and are damaged in the history: the last ones.

    Whoever can read them may keep them anew; until then they stay in the ring. Raises DiskError.
    """
    reported = {entry.number: entry.sha256 for entry in read_journal(vault.paths.journal)}
    here = {version.number for version in list_versions(vault.store)}
    return [
        vault.paths.ring / copy.name
        for copy in list_copies(vault.paths.ring, disk=vault.disk)
        if copy.number not in here
        and reported.get(copy.number) == hash_copy(vault.paths.ring / copy.name)
    ]


def _check_numbers(versions: list[Version]) -> list[Damage]:
    present = {version.number for version in versions}
    newest = max(present, default=0)
    return [
        Damage("version", f"version {number} cannot be read from the history")
        for number in range(1, newest + 1)
        if number not in present
    ]


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
