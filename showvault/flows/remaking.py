"""What is gone from a history, made anew from plain files that hold it still.

The vault knows bytes and names; here a plain file is cut into the parts that a version of it had,
so that what it holds can be stored again.
"""

from collections.abc import Iterator, Mapping
from pathlib import Path

from showvault.errors import ShowvaultError
from showvault.files.reading import SettledFile, read_settled
from showvault.flows.candidates import find_saves
from showvault.flows.incoming import ChooseReader, path_of, read_incoming
from showvault.flows.stored import SHOW_FOLDER, SKELETON
from showvault.show.cutting import CutShow
from showvault.vault.opening import Vault
from showvault.vault.parts import blob_id
from showvault.vault.ring import list_names
from showvault.vault.trees import make_trees


def make_from_plain_files(
    vault: Vault, choose_reader: ChooseReader, wanted: frozenset[str]
) -> Iterator[tuple[str, bytes]]:
    """Those objects of ``wanted`` that plain files still hold, as kind and bytes.

    Looks into the ring, the watched places and the quarantine until nothing is wanted any more.
    """
    left = set(wanted)
    for path in _plain_files(vault):
        if not left:
            return
        try:
            file = read_settled(path)
        except ShowvaultError:
            continue
        for oid, kind, data in _objects_of(file, choose_reader):
            if oid in left:
                left.remove(oid)
                yield kind, data


def _plain_files(vault: Vault) -> Iterator[Path]:
    ring, quarantine = vault.paths.ring, vault.paths.quarantine
    yield from (ring / name for name in reversed(list_names(ring, disk=vault.disk)))
    watched = [path_of(name) for name in vault.description.watched]
    yield from find_saves(watched, without=vault.folder)
    for name in list_names(quarantine, disk=vault.disk):
        if not (quarantine / name).is_dir():
            yield quarantine / name


def _objects_of(file: SettledFile, choose_reader: ChooseReader) -> Iterator[tuple[str, str, bytes]]:
    """Every object that a version with this file holds of it: id, kind, bytes."""
    yield blob_id(file.data), "blob", file.data
    cut = read_incoming(file, choose_reader).cut
    if cut is None:
        return
    parts = _parts_of(cut)
    ids = {path: blob_id(data) for path, data in parts.items()}
    for path, data in parts.items():
        yield ids[path], "blob", data
    for oid, data in make_trees(ids).items():
        yield oid, "tree", data


def _parts_of(cut: CutShow) -> Mapping[str, bytes]:
    named = {SHOW_FOLDER + name: data for name, data in cut.parts.items()}
    return {SKELETON: cut.skeleton, **named}
