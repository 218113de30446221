"""How files that are stored whole are held again where what holds them is damaged or gone.

Such a file stands in no tree: a ref of its own, named by its SHA-256, keeps other gits from
dropping it. Every record tells which blob that is, so the refs can be made anew.
"""

from collections.abc import Mapping, Sequence

from showvault.files.disk import FileSystem
from showvault.vault.layout import VaultPaths
from showvault.vault.quarantine import Repair, list_folder, set_aside
from showvault.vault.store import FILES, OID, Store
from showvault.vault.versions import Version, list_versions


def stored_whole(versions: Sequence[Version]) -> dict[str, str]:
    """The files of versions that stand in no tree: SHA-256 -> blob id."""
    return {
        file.sha256: file.blob
        for version in versions
        for file in version.files
        if file.stands_alone and OID.fullmatch(file.blob)
    }


def find_unheld(store: Store, versions: Sequence[Version]) -> Mapping[str, str]:
    """The files of versions that no ref holds: SHA-256 -> blob id. Raises GitError, DiskError."""
    wanted = stored_whole(versions)
    if not wanted:
        return {}
    told = store.git.run(
        *("for-each-ref", "--format=%(refname) %(objectname)", FILES),
        doing="look which files are held",
    )
    held = dict(line.split(" ") for line in told.decode("ascii", "replace").splitlines())
    return {sha: oid for sha, oid in wanted.items() if held.get(f"{FILES}/{sha}") != oid}


def settle_held_files(paths: VaultPaths, store: Store, newest: Version | None) -> list[Repair]:
    """Hold every file again where one of the newest version's is not held.

    Costs a look at those refs alone. Raises GitError, DiskError, DamagedRefError.
    """
    wanted = stored_whole([newest] if newest is not None else [])
    if all(store.file_ref(sha256) == oid for sha256, oid in wanted.items()):
        return []
    return hold_files(paths, store)


def hold_files(paths: VaultPaths, store: Store) -> list[Repair]:
    """Make the refs of all files anew that are damaged or gone, as far as the files are there.

    Raises GitError, DiskError, DamagedRefError.
    """
    set_damaged_refs_aside(paths, store.disk)
    unheld = find_unheld(store, list_versions(store))
    kinds = store.kinds_of(unheld.values())
    # A ref to nothing would be damage of its own.
    there = {sha256: oid for sha256, oid in unheld.items() if kinds.get(oid) == "blob"}
    store.name_files(there)
    said = f"{len(there)} files that are stored whole are held by a ref again"
    return [Repair(said)] * bool(there)


def set_damaged_refs_aside(paths: VaultPaths, disk: FileSystem) -> None:
    """Move what holds nothing out of the way: git would stop at it. Raises DiskError."""
    folder = paths.history / FILES
    for name in list_folder(folder, disk):
        place = folder / name
        text = place.read_bytes() if place.is_file() else b""
        if not OID.fullmatch(text.removesuffix(b"\n").decode("ascii", "replace")):
            set_aside(paths, place, disk)
