"""How a vault is mended from plain files where git has no whole copy of something any more.

What a version lacks is made anew from plain files (`remaking`). A version that is gone from the
history altogether, and was newer than all that are left, is kept anew.
"""

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from showvault.errors import ShowvaultError
from showvault.files.reading import SettledFile, identify, read_settled
from showvault.flows.incoming import path_of
from showvault.flows.keep import Keeper
from showvault.flows.outcomes import Kept, Saying
from showvault.flows.stored import bytes_of_file
from showvault.vault.checking import (
    Damage,
    Progress,
    check_vault,
    copies_without_version,
    mend_vault,
    tell_nobody,
)
from showvault.vault.clones import opened_clone
from showvault.vault.opening import Vault
from showvault.vault.quarantine import Repair, set_aside
from showvault.vault.recovery import Rebuild
from showvault.vault.ring import (
    enter_copies,
    free_name,
    hash_copy,
    list_copies,
    list_names,
    prepare_copies,
    read_ring_name,
    ring_name,
)
from showvault.vault.trees import object_id
from showvault.vault.versions import Version, VersionFile, list_versions


@dataclass(frozen=True)
class Mended:
    """What was found in a vault, what was done about it, and what is left."""

    found: tuple[Damage, ...]
    repairs: tuple[Repair, ...]
    kept_anew: tuple[Kept, ...]
    left: tuple[Damage, ...]


def mend(
    keeper: Keeper,
    *,
    when: datetime,
    clone: Path | None = None,
    progress: Progress = tell_nobody,
) -> Mended:
    """Check the whole vault and mend what is damaged, from second copies and plain files.

    What ``clone``, a clone of the history, still holds is taken from there first. Nothing is
    deleted. Raises DiskError, LockHeldError, GitError, NotACloneError.
    """
    vault = keeper.vault
    with _asking_first(vault, clone):
        found = check_vault(vault, progress)
        if not found:
            return Mended((), (), (), ())
        repairs = mend_vault(vault)
    keeper.known.forget()
    repairs += _mend_ring(vault)
    kept = tuple(_keep_anew(keeper, when))
    return Mended(tuple(found), tuple(repairs), kept, tuple(check_vault(vault, progress)))


@contextlib.contextmanager
def _asking_first(vault: Vault, clone: Path | None) -> Iterator[None]:
    if clone is None:
        yield
        return
    before = vault.rebuild
    with opened_clone(clone) as from_clone:
        vault.rebuild = _first(from_clone, before)
        try:
            yield
        finally:
            vault.rebuild = before


def _first(one: Rebuild, other: Rebuild) -> Rebuild:
    """Ask ``one`` for everything, and ``other`` for what it did not give."""

    def both(wanted: frozenset[str]) -> Iterator[tuple[str, bytes]]:
        given = set()
        for kind, data in one(wanted):
            given.add(object_id(kind, data))
            yield kind, data
        if given < wanted:
            yield from other(wanted - given)

    return both


def _mend_ring(vault: Vault) -> list[Repair]:
    """Write plain copies anew that are not what was kept, and those of the newest good version."""
    versions = {version.number: version for version in list_versions(vault.store)}
    newest = next((version for version in versions.values() if version.good), None)
    whole: set[tuple[int, str]] = set()
    damaged: dict[str, int] = {}
    for copy in list_copies(vault.paths.ring, disk=vault.disk):
        sha256 = hash_copy(vault.paths.ring / copy.name)
        kept = versions[copy.number].files if copy.number in versions else ()
        whole.add((copy.number, sha256))
        if kept and all(file.sha256 != sha256 for file in kept):
            damaged[copy.name] = copy.number
    wanted = {number: versions[number] for number in damaged.values()}
    carried = []
    for file in newest.files if newest else ():
        if file.since in versions:
            wanted[file.since] = versions[file.since]
        elif (file.since, file.sha256) not in whole:  # the version that brought it is gone
            carried.append(file)
    repairs = []
    with vault.writing("mending the ring"):
        for name in damaged:
            set_aside(vault.paths, vault.paths.ring / name, vault.disk)
            repairs.append(Repair(f"the damaged plain copy {name} is in the quarantine"))
        for number, version in sorted(wanted.items()):
            for file in version.files:
                if file.since == number and (number, file.sha256) not in whole:
                    repairs += _copy_anew(vault, version, file)
        if newest is not None:
            for file in carried:
                repairs += _copy_anew(vault, newest, file)
    return repairs


def _copy_anew(vault: Vault, version: Version, file: VersionFile) -> list[Repair]:
    try:
        data = bytes_of_file(vault.store, version, file)
    except ShowvaultError:  # the check after mending names it
        return []
    taken = list_names(vault.paths.ring, disk=vault.disk)
    name = free_name(ring_name(file.since, version.moment, file.name), taken)
    prepare_copies(vault.paths.ring, {name: data}, disk=vault.disk)
    enter_copies(vault.paths.ring, [name], disk=vault.disk)
    return [Repair(f"the plain copy {name} was written anew from the history")]


def _keep_anew(keeper: Keeper, when: datetime) -> Iterator[Kept]:
    """Keep the plain copies of versions that are gone and were newer than all that are left."""
    vault = keeper.vault
    newest = max((version.number for version in list_versions(vault.store)), default=0)
    for path in copies_without_version(vault):
        copy = read_ring_name(path.name)
        identity = identify(path)
        if copy is None or identity is None or copy.number <= newest:
            continue
        original = copy.name.split("_", 3)[3]
        file = SettledFile(_place_of(vault, original), read_settled(path).data, identity)
        saying = Saying(note=f"brought back from the plain copy of version {copy.number}")
        outcomes = keeper.keep([file], when=when, saying=saying)
        yield from (one for one in outcomes if isinstance(one, Kept))


def _place_of(vault: Vault, name: str) -> Path:
    """Where a file of this name was saved, as far as the versions that are left tell."""
    for version in list_versions(vault.store):
        files: tuple[VersionFile, ...] = version.files
        for file in files:
            if file.name == name:
                return path_of(file.path)
    watched = path_of(vault.description.watched[0])
    return watched / name if watched.is_dir() else watched
