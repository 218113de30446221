"""Whether a whole vault is still what was kept: every object, every version, every plain copy."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

from showvault.errors import ShowvaultError
from showvault.files.disk import shown
from showvault.vault.git import GitError
from showvault.vault.held_files import find_unheld
from showvault.vault.journal import read_journal
from showvault.vault.lacking import find_lacking
from showvault.vault.loose import damaged_loose
from showvault.vault.opening import Vault
from showvault.vault.packing import index_proves_whole, proves_whole
from showvault.vault.quarantine import Repair
from showvault.vault.reader import MissingObjectError
from showvault.vault.ring import hash_copy, list_copies
from showvault.vault.second import list_second
from showvault.vault.versions import DamagedVersionError, Version, list_versions, read_file

Progress = Callable[[str, int, int], None]
"""Told what is looked at, how many of it are done, and of how many."""


class Damage(NamedTuple):
    """One thing that is not as it was kept."""

    where: str
    """history, second, version or ring."""

    sentence: str

    def __str__(self) -> str:
        return self.sentence


def tell_nobody(what: str, done: int, total: int) -> None:
    """Progress that nobody wants to see."""


def check_vault(vault: Vault, progress: Progress = tell_nobody) -> list[Damage]:
    """Look at everything, which reads the whole vault from the disk; changes nothing.

    Raises DiskError.
    """
    history = _check_history(vault, progress)
    try:
        versions = list_versions(vault.store)
    except ShowvaultError as error:
        return [*history, Damage("history", str(error))]
    lacks = _check_parts(vault, versions) if history else []
    return [
        *history,
        *_check_second(vault, progress),
        *_check_numbers(vault, versions),
        *_check_held(vault, versions),
        *lacks,
        *_check_files(vault, versions, progress),
        *_check_ring(vault, versions, progress),
    ]


def mend_vault(vault: Vault) -> list[Repair]:
    """Look at every pack closely and mend what is found, for a vault whose check failed.

    What is damaged is replaced by its second copy, or moved to the quarantine; what is whole in it
    is saved. Raises LockHeldError, DiskError, GitError.
    """
    before = len(vault.repairs)
    with vault.writing("mending the vault") as lock:
        vault.mend_thoroughly(lock)
    return list(vault.repairs[before:])


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


def _check_history(vault: Vault, progress: Progress) -> list[Damage]:
    packs = vault.paths.packs
    names = sorted(vault.store.pack_names())
    damages = []
    for done, name in enumerate(names):
        progress("packs", done, len(names))
        if not proves_whole(packs / name):
            damages.append(
                Damage("history", f"the pack {name} of the history is not what was written")
            )
        elif not index_proves_whole(packs / name):
            damages.append(Damage("history", f"the index of the pack {name} is damaged"))
    damages += [
        Damage("history", f"the object {path.parent.name}{path.name} is not what was written")
        for path in damaged_loose(vault.paths, vault.disk)
    ]
    progress("history, as git sees it", 0, 1)
    try:
        vault.store.git.run(
            *("fsck", "--full", "--strict", "--no-dangling", "--no-progress"),
            doing="check the history",
        )
    except GitError as error:  # what is missing it does not call an error
        told = str(error) if error.said else "the history leads to something that is gone"
        return damages or [Damage("history", told)]
    return damages


def _check_second(vault: Vault, progress: Progress) -> list[Damage]:
    names = sorted(list_second(vault.paths, vault.disk))
    damages = []
    for done, name in enumerate(names):
        progress("second copies", done, len(names))
        if not proves_whole(vault.paths.second / name):
            damages.append(
                Damage("second", f"the second copy of the pack {name} is not what was written")
            )
    return damages


def _check_numbers(vault: Vault, versions: list[Version]) -> list[Damage]:
    present = {version.number for version in versions}
    reported = {entry.number for entry in read_journal(vault.paths.journal)}
    newest = max(present | reported, default=0)
    return [
        Damage("version", f"version {number} cannot be read from the history")
        for number in range(1, newest + 1)
        if number not in present
    ]


def _check_held(vault: Vault, versions: list[Version]) -> list[Damage]:
    unheld = find_unheld(vault.store, versions)
    named = {
        file.sha256: f"no ref holds {shown(Path(file.name))} of version {version.number}"
        for version in versions
        for file in version.files
        if file.sha256 in unheld
    }
    return [Damage("history", sentence) for sentence in named.values()]


def _check_parts(vault: Vault, versions: list[Version]) -> list[Damage]:
    try:
        lacking = find_lacking(vault.store, [version.commit for version in versions])
    except GitError:  # over a pack that is damaged, which is told; once it is mended git can tell
        return []
    return [
        Damage("version", f"version {version.number} lacks {len(lacking[version.commit])} parts")
        for version in versions
        if version.number and version.commit in lacking
    ]


def _check_files(vault: Vault, versions: list[Version], progress: Progress) -> list[Damage]:
    damages = []
    held_by: dict[str, list[int]] = {}
    for version in versions:
        for file in version.files:
            held_by.setdefault(file.sha256, []).append(version.number)
    checked: set[str] = set()
    for done, version in enumerate(versions):
        progress("files of versions", done, len(versions))
        for file in version.files:
            if not file.blob or file.sha256 in checked:
                continue
            checked.add(file.sha256)
            try:
                read_file(vault.store, file)
            except (MissingObjectError, DamagedVersionError) as error:
                who = say_versions(held_by[file.sha256])
                damages.append(Damage("version", f"{who}: {error}"))
    return damages


def say_versions(numbers: Sequence[int]) -> str:
    """All of them, several in a row as their first and last."""
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    said = [str(run[0]) if len(run) == 1 else f"{run[0]} to {run[-1]}" for run in runs]
    return f"version{'s' if len(numbers) > 1 else ''} {', '.join(said)}"


def _check_ring(vault: Vault, versions: list[Version], progress: Progress) -> list[Damage]:
    kept = {entry.number: {entry.sha256} for entry in read_journal(vault.paths.journal)}
    for version in versions:
        kept.setdefault(version.number, set()).update(file.sha256 for file in version.files)
        for file in version.files:  # the version that brought it may be gone
            kept.setdefault(file.since, set()).add(file.sha256)
    copies = list_copies(vault.paths.ring, disk=vault.disk)
    found = {}
    for done, copy in enumerate(copies):
        progress("plain copies", done, len(copies))
        found[copy] = hash_copy(vault.paths.ring / copy.name)
    here = {version.number for version in versions}
    damages = [
        Damage("ring", f"the plain copy {copy.name!r} is not what was kept")
        if copy.number in here
        else Damage("ring", f"the plain copy {copy.name!r} cannot be proven: its version is gone")
        for copy, sha256 in found.items()
        if sha256 not in kept.get(copy.number, set())
    ]
    newest = next((version for version in versions if version.good), None)
    for file in newest.files if newest else ():
        if file.sha256 not in found.values():
            damages.append(
                Damage("ring", f"the ring has no whole copy of the newest {shown(Path(file.name))}")
            )
    return damages
