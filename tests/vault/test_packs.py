"""Packs that are damaged or gone; more of it stands in tests/faults."""

import hashlib
import shutil
from pathlib import Path

import pytest

from showvault.files.disk import DiskError
from showvault.vault.checking import check_vault, mend_vault
from showvault.vault.housekeeping import housekeep
from showvault.vault.packing import proves_whole
from showvault.vault.versions import list_versions
from tests.faults.failing_disk import FailingDisk
from tests.vault.builders import flip, keep, make_vault, opened, parts_of

PARTS = {"show/1.json": b"one" * 100}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A vault of two versions, each in a pack of its own that has a second copy."""
    folder = make_vault(tmp_path / "vault")
    with opened(folder) as vault:
        keep(vault, {"show/2.json": b"two" * 100})
        keep(vault, PARTS)
        housekeep(vault)
    return folder


def newest_pack(folder: Path) -> Path:
    name = (folder / "journal").read_text().splitlines()[-1].split(" ")[3]
    return folder / f"history.git/objects/pack/pack-{name}.pack"


def take_away(path: Path) -> None:
    path.chmod(0o600)
    path.unlink()


def with_a_sum_that_fits(pack: Path) -> bytes:
    """Bytes that end with their own SHA-1, as a pack does, and hold no object that git could read.

    No disk makes such a thing; only somebody who wants to.
    """
    body = b"PACK\0\0\0\2\0\0\0\1" + b"\xff" * 40
    return body + hashlib.sha1(body, usedforsecurity=False).digest()


def mended(folder: Path) -> list[str]:
    """What is told of a close look at everything."""
    with opened(folder) as vault:
        mend_vault(vault)
        return [repair.sentence for repair in vault.repairs]


def assert_next_save_works(folder: Path) -> None:
    with opened(folder) as vault:
        version = keep(vault, PARTS | {"show/3.json": b"3"})
        assert parts_of(vault, version).items() >= PARTS.items()


def test_a_pack_without_its_index_that_is_damaged_as_well_is_saved_as_far_as_it_is_whole(
    folder: Path,
) -> None:
    pack = newest_pack(folder)
    shutil.rmtree(folder / "second")
    take_away(pack.with_suffix(".idx"))
    data = pack.read_bytes()
    pack.chmod(0o600)
    pack.write_bytes(data[:-1] + bytes([data[-1] ^ 1]))  # every object is whole, their sum is not
    told = mended(folder)
    assert f"a damaged pack of the history was moved to quarantine/{pack.stem}" in told
    with opened(folder) as vault:
        versions = list_versions(vault.store)
        assert [version.number for version in versions] == [2, 1]
        assert parts_of(vault, versions[0]).items() >= PARTS.items()
        assert check_vault(vault) == []


def test_a_pack_that_is_gone_does_not_come_back_from_a_damaged_copy(folder: Path) -> None:
    pack = newest_pack(folder)
    take_away(pack)
    take_away(pack.with_suffix(".idx"))
    flip(folder / "second" / pack.name)
    with opened(folder) as vault:
        told = " ".join(repair.sentence for repair in vault.repairs)
        assert "came back" not in told
        assert "its newest whole version is 1" in told
        assert [version.number for version in list_versions(vault.store)] == [1]
    assert_next_save_works(folder)


def test_of_a_damaged_copy_whose_pack_is_gone_all_is_saved_that_is_whole(folder: Path) -> None:
    pack = newest_pack(folder)
    take_away(pack)
    take_away(pack.with_suffix(".idx"))
    copy = folder / "second" / pack.name
    data = copy.read_bytes()
    copy.chmod(0o600)
    copy.write_bytes(data[:-1] + bytes([data[-1] ^ 1]))
    told = mended(folder)
    assert "a damaged second copy of a pack is in the quarantine" in told
    with opened(folder) as vault:
        versions = list_versions(vault.store)
        assert [version.number for version in versions] == [2, 1]
        assert parts_of(vault, versions[0]).items() >= PARTS.items()
        assert check_vault(vault) == []
    assert any(path.read_bytes() != data for path in (folder / "quarantine").rglob("*.pack"))


def test_a_damaged_copy_whose_pack_is_whole_is_made_anew(folder: Path) -> None:
    copy = folder / "second" / newest_pack(folder).name
    flip(copy)
    told = mended(folder)
    assert told == ["a damaged second copy of a pack was made anew"]
    assert copy.read_bytes() == newest_pack(folder).read_bytes()


def test_a_pack_that_only_seems_whole_is_moved_out_of_the_way(folder: Path) -> None:
    pack = newest_pack(folder)
    forged = with_a_sum_that_fits(pack)
    named = pack.with_name(f"pack-{forged[-20:].hex()}.pack")
    named.write_bytes(forged)
    shutil.copy(pack.with_suffix(".idx"), named.with_suffix(".idx"))
    assert proves_whole(named)
    told = mended(folder)
    assert f"a damaged pack of the history was moved to quarantine/{named.stem}" in told
    with opened(folder) as vault:
        assert vault.repairs == ()
        assert check_vault(vault) == []
        assert [version.number for version in list_versions(vault.store)] == [2, 1]


def test_a_pack_and_a_copy_that_both_only_seem_whole_leave_nothing_in_the_history(
    folder: Path,
) -> None:
    pack = newest_pack(folder)
    forged = with_a_sum_that_fits(pack)
    name = f"pack-{forged[-20:].hex()}.pack"
    pack.with_name(name).write_bytes(forged)
    (folder / "second" / name).write_bytes(forged)
    mended(folder)
    assert not pack.with_name(name).exists()
    kept = [path.read_bytes() for path in (folder / "quarantine").rglob("*.pack")]
    assert kept.count(forged) == len(kept) >= 2
    with opened(folder) as vault:
        assert vault.repairs == ()
        assert check_vault(vault) == []
    assert_next_save_works(folder)


@pytest.mark.parametrize("place", ["history.git/objects/pack", "second"])
def test_a_folder_in_the_place_of_a_pack_is_moved_out_of_the_way(folder: Path, place: str) -> None:
    name = newest_pack(folder).name
    take_away(folder / place / name)
    if place != "second":
        take_away(newest_pack(folder).with_suffix(".idx"))
    (folder / place / name).mkdir()
    (folder / place / name / "a stranger's").write_bytes(b"x")
    mended(folder)
    with opened(folder) as vault:
        housekeep(vault)
        assert check_vault(vault) == []
        assert [version.number for version in list_versions(vault.store)] == [2, 1]
    assert [path.read_bytes() for path in (folder / "quarantine").rglob("a stranger's")] == [b"x"]


def test_a_pack_that_cannot_be_written_anew_is_not_vouched_for(folder: Path) -> None:
    """Its sync may have failed unseen, so it is read and written once more before it counts."""
    pack = newest_pack(folder)
    (folder / "journal").unlink()  # nothing vouches for the packs any more

    class Unreadable(FailingDisk):
        def open(self, path: Path, flags: int, mode: int = 0o600) -> int:
            if path == pack and flags == 0:
                raise OSError(5, "Input/output error")
            return super().open(path, flags, mode)

    with pytest.raises(DiskError, match=f"could not copy .*{pack.name}: input/output error"):
        opened(folder, disk=Unreadable())
    assert proves_whole(pack)
    with opened(folder) as vault:
        assert [version.number for version in list_versions(vault.store)] == [2, 1]
        assert check_vault(vault) == []
