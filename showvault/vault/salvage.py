"""What can be saved of a pack that is damaged and has no whole copy."""

import contextlib
from collections.abc import Iterator, Sequence
from pathlib import Path

from showvault.files.disk import FileSystem
from showvault.files.durable import copy_durably, make_folder_durably, move_durably, sync_folder
from showvault.vault.git import Git, GitError
from showvault.vault.layout import VaultPaths
from showvault.vault.packing import PackedObject, pack_object
from showvault.vault.quarantine import list_folder
from showvault.vault.reader import Reader, read_what_is_there
from showvault.vault.ring import free_name
from showvault.vault.store import Store


def move_pack_aside(paths: VaultPaths, pack: Path, disk: FileSystem) -> Path:
    """Move a pack and its index to a folder of the quarantine that git can read like its own.

    Raises DiskError.
    """
    folder = paths.quarantine / free_name(pack.stem, list_folder(paths.quarantine, disk))
    make_folder_durably(folder / "pack", disk=disk)
    for found in (pack.with_suffix(".idx"), pack):
        if found.exists():
            move_durably(found, folder / "pack" / found.name, disk=disk)
    return folder


def lend_index(aside: Path, other: Path, disk: FileSystem) -> None:
    """Give a pack in the quarantine the index of another one of the same name.

    Raises DiskError.
    """
    for index in (aside / "pack").glob("*.idx"):
        copy_durably(index, other / "pack" / index.name, disk=disk)


def save_what_is_whole(paths: VaultPaths, store: Store, pack: Path, holding: int) -> None:
    """Pack those objects of a damaged pack anew that are what their names say."""
    git = store.git.among(pack.parent.parent)
    oids = _indexed(git, pack)
    if not oids:
        _unpack_what_is_whole(paths, store, pack, holding)
        return
    saved = list(_whole_objects(git, oids))
    if saved:
        store.write_objects(saved)


def _indexed(git: Git, pack: Path) -> list[str]:
    """What a pack's index says it holds; nothing where it has none that can be read."""
    index = pack.with_suffix(".idx")
    if not index.is_file():
        return []
    try:
        lines = git.run("show-index", doing="read an index", stdin=index.read_bytes())
    except GitError:
        return []
    return [line.split(b" ")[1].decode("ascii") for line in lines.splitlines()]


def _whole_objects(git: Git, oids: Sequence[str]) -> Iterator[PackedObject]:
    """Those objects whose bytes are what their names say; git dies over some of the others."""
    reader = Reader(git)
    for oid, stored in read_what_is_there(reader, oids):
        if stored is not None:
            packed = pack_object(stored.kind, stored.data)
            if packed.oid == oid:
                yield packed
    reader.close()


def _unpack_what_is_whole(paths: VaultPaths, store: Store, pack: Path, holding: int) -> None:
    """Save the objects of a pack without an index, as far as they can be told apart."""
    if not pack.is_file():  # there was no more than an index, or a folder stood there
        return
    with contextlib.suppress(GitError):  # it says so when it had to leave something out
        store.git.run(
            *("unpack-objects", "-r", "-q"),
            doing="save what is whole",
            stdin=pack.read_bytes(),
            holding=holding,
        )
    for folder in list_folder(paths.history / "objects", store.disk):
        if len(folder) == 2:
            sync_folder(paths.history / "objects" / folder, disk=store.disk)
    sync_folder(paths.history / "objects", disk=store.disk)
