"""Of a damaged pack all is saved that was not hit, and nothing that is not what its name says."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from showvault.files.disk import DISK
from showvault.vault.opening import Vault
from showvault.vault.packing import PackedObject, pack_object, write_pack
from showvault.vault.salvage import lend_index, move_pack_aside, save_what_is_whole
from tests.vault.builders import make_vault, opened

CUES = [b"cue %d, as it was kept" % number for number in range(5)]


@pytest.fixture
def vault(tmp_path: Path) -> Iterator[Vault]:
    with opened(make_vault(tmp_path / "vault")) as vault:
        yield vault


def a_pack(vault: Vault, objects: list[PackedObject]) -> Path:
    """A pack of the history that no journal line and no second copy vouches for."""
    name = write_pack(vault.paths.packs, objects, disk=DISK)
    vault.store.let_go(name)
    return vault.paths.packs / name


def a_pack_of_cues(vault: Vault) -> Path:
    return a_pack(vault, [pack_object("blob", data) for data in CUES])


def damage(pack: Path, cue: bytes) -> None:
    """Flip bits in the middle of one object's bytes."""
    data = bytearray(pack.read_bytes())
    entry = pack_object("blob", cue).entry
    data[data.index(entry) + len(entry) // 2] ^= 0xFF
    pack.chmod(0o600)
    pack.write_bytes(data)


def save(vault: Vault, pack: Path) -> None:
    with vault.writing("saving what is whole") as lock:
        save_what_is_whole(vault.paths, vault.store, pack, lock.descriptor)


def cues_in(vault: Vault) -> list[bytes]:
    """The cues that the history gives back."""
    vault.store.close()
    there = [data for data in CUES if vault.store.holds(pack_object("blob", data).oid)]
    return [vault.store.read_blob(pack_object("blob", data).oid) for data in there]


def test_a_pack_that_is_moved_aside_keeps_its_index_and_its_bytes(vault: Vault) -> None:
    pack = a_pack_of_cues(vault)
    before = {path.name: path.read_bytes() for path in (pack, pack.with_suffix(".idx"))}
    aside = move_pack_aside(vault.paths, pack, DISK)
    assert aside.parent == vault.paths.quarantine
    assert {path.name: path.read_bytes() for path in (aside / "pack").iterdir()} == before
    assert list(vault.paths.packs.iterdir()) == []


def test_two_packs_of_one_name_stand_beside_each_other_in_the_quarantine(vault: Vault) -> None:
    first = move_pack_aside(vault.paths, a_pack_of_cues(vault), DISK)
    second = move_pack_aside(vault.paths, a_pack_of_cues(vault), DISK)
    assert first != second
    assert [len(list((folder / "pack").iterdir())) for folder in (first, second)] == [2, 2]


def test_a_second_copy_is_read_by_the_index_of_the_pack_it_was_a_copy_of(vault: Vault) -> None:
    pack = a_pack_of_cues(vault)
    copy = vault.paths.second / pack.name
    copy.write_bytes(pack.read_bytes())
    damage(pack, CUES[0])
    damage(copy, CUES[1])
    aside = move_pack_aside(vault.paths, pack, DISK)
    also = move_pack_aside(vault.paths, copy, DISK)
    lend_index(aside, also, DISK)
    for folder in (aside, also):
        save(vault, folder / "pack" / pack.name)
    assert cues_in(vault) == CUES  # where the one was damaged, the other was whole


def test_of_a_damaged_pack_only_what_was_hit_is_lost(vault: Vault) -> None:
    pack = a_pack_of_cues(vault)
    damage(pack, CUES[2])
    aside = move_pack_aside(vault.paths, pack, DISK)
    assert cues_in(vault) == []
    save(vault, aside / "pack" / pack.name)
    assert cues_in(vault) == [*CUES[:2], *CUES[3:]]
    (saved,) = vault.store.pack_names()
    assert vault.store.pack_is_as_written(saved)


def test_an_object_that_is_not_what_its_name_says_is_not_saved(vault: Vault) -> None:
    """Git itself reads it back without a word: what it inflates has the right form."""
    other = pack_object("blob", b"somebody else's cue")
    mine = pack_object("blob", CUES[0])
    pack = a_pack(vault, [other._replace(oid=mine.oid), pack_object("blob", CUES[1])])
    assert vault.store.read_blob(mine.oid) == b"somebody else's cue"
    aside = move_pack_aside(vault.paths, pack, DISK)
    save(vault, aside / "pack" / pack.name)
    assert cues_in(vault) == [CUES[1]]


def test_where_nothing_is_whole_no_pack_is_written(vault: Vault) -> None:
    pack = a_pack_of_cues(vault)
    for cue in CUES:
        damage(pack, cue)
    aside = move_pack_aside(vault.paths, pack, DISK)
    save(vault, aside / "pack" / pack.name)
    assert list(vault.paths.packs.iterdir()) == []


@pytest.mark.parametrize("index", [None, b"", b"\xfftOc\x00\x00\x00\x02 and no more"])
def test_a_pack_without_an_index_that_can_be_read_is_read_from_its_beginning(
    vault: Vault, index: bytes | None
) -> None:
    pack = a_pack_of_cues(vault)
    pack.with_suffix(".idx").chmod(0o600)
    pack.with_suffix(".idx").unlink()
    if index is not None:
        pack.with_suffix(".idx").write_bytes(index)
    damage(pack, CUES[3])
    aside = move_pack_aside(vault.paths, pack, DISK)
    save(vault, aside / "pack" / pack.name)
    assert cues_in(vault)[:3] == CUES[:3]
    assert CUES[3] not in cues_in(vault)


@pytest.mark.parametrize("index", ["whole", "damaged as well"])
def test_an_index_that_lost_its_pack_gives_nothing_and_stops_nothing(
    vault: Vault, index: str
) -> None:
    pack = a_pack_of_cues(vault)
    pack.chmod(0o600)
    pack.unlink()
    if index != "whole":
        pack.with_suffix(".idx").chmod(0o600)
        pack.with_suffix(".idx").write_text(index)
    aside = move_pack_aside(vault.paths, pack, DISK)
    assert [path.suffix for path in (aside / "pack").iterdir()] == [".idx"]
    save(vault, aside / "pack" / pack.name)
    assert cues_in(vault) == []
    assert list(vault.paths.packs.iterdir()) == []
