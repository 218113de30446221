"""What can be seen of damage in a moment, without reading the vault back."""

from pathlib import Path

from showvault.files.disk import shown
from showvault.vault.checking import Damage
from showvault.vault.journal import known_packs, read_journal_end
from showvault.vault.opening import Vault
from showvault.vault.ring import list_copies
from showvault.vault.second import list_second
from showvault.vault.versions import Version


def glance_at_vault(vault: Vault, versions: list[Version]) -> list[Damage]:
    """What can be seen to be damaged without reading: names, sizes and ends of files.

    ``versions`` are the vault's, newest first. Costs a few milliseconds; raises DiskError.
    """
    packs = vault.paths.packs
    here = vault.store.pack_names()
    gone = known_packs(read_journal_end(vault.paths.journal)) - here
    damages = [Damage("history", "a pack of the history is gone")] * bool(gone)
    damages += [
        Damage("history", f"the pack {name} of the history is cut off or overwritten")
        for name in sorted(here)
        if not _ends_as_named(packs / name)
    ]
    damages += [
        Damage("history", f"the index of the pack {name} is cut off or overwritten")
        for name in sorted(here)
        if not _index_ends_as_named(packs / name)
    ]
    damages += [
        Damage("second", f"the second copy of the pack {name} has another size")
        for name in sorted(list_second(vault.paths, vault.disk) & here)
        if _size(packs / name) != _size(vault.paths.second / name)
    ]
    return damages + _glance_at_ring(vault, versions)


def _glance_at_ring(vault: Vault, versions: list[Version]) -> list[Damage]:
    newest = next((version for version in versions if version.good), None)
    sizes = {
        (copy.number, _size(vault.paths.ring / copy.name))
        for copy in list_copies(vault.paths.ring, disk=vault.disk)
    }
    return [
        Damage("ring", f"the ring has no whole copy of the newest {shown(Path(file.name))}")
        for file in (newest.files if newest else ())
        if (file.since, file.size) not in sizes
    ]


def _ends_as_named(pack: Path) -> bool:
    return _told_at(pack, -20) == pack.stem.removeprefix("pack-")


def _index_ends_as_named(pack: Path) -> bool:
    """Before its own sum an index tells that of its pack (git, gitformat-pack)."""
    return _told_at(pack.with_suffix(".idx"), -40) == pack.stem.removeprefix("pack-")


def _told_at(path: Path, place: int) -> str:
    try:
        with path.open("rb") as file:
            file.seek(place, 2)
            return file.read(20).hex()
    except OSError:
        return ""


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return -1
