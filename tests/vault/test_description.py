from pathlib import Path

import msgspec
import pytest

from showvault.files.disk import DISK, DiskError
from showvault.vault.checking import check_vault
from showvault.vault.description import is_vault, settle_description
from showvault.vault.layout import (
    DamagedDescriptionError,
    NewerVaultError,
    NotAVaultError,
    VaultPaths,
    read_vault_file,
    write_vault_file,
)
from showvault.vault.versions import list_versions
from tests.faults.failing_disk import FailingDisk
from tests.vault.builders import keep, make_vault, opened

ANEW = "vault.json was damaged or gone; it was made anew from its second copy"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = make_vault(tmp_path / "vault")
    with opened(folder) as vault:
        keep(vault, {"a": b"1"})
    return folder


def flipped(text: bytes, at: int) -> bytes:
    return text[:at] + bytes([text[at] ^ 0x10]) + text[at + 1 :]


def test_a_vault_begins_with_a_second_copy_of_its_description(folder: Path) -> None:
    paths = VaultPaths(folder)
    assert paths.description_copy.read_bytes() == paths.description.read_bytes()


@pytest.mark.parametrize("damage", ["gone", "empty", "half", "folder", "flipped"])
def test_a_damaged_description_costs_nothing(folder: Path, damage: str) -> None:
    place = folder / "vault.json"
    whole = place.read_bytes()
    match damage:
        case "gone":
            place.unlink()
        case "folder":
            place.unlink()
            place.mkdir()
        case "flipped":
            place.write_bytes(flipped(whole, whole.index(b'"watched"')))
        case _:
            place.write_bytes(whole[: len(whole) // 2] if damage == "half" else b"")
    assert is_vault(folder)
    with opened(folder) as vault:
        assert vault.description.watched == ("/shows/evening.json",)
        assert ANEW in map(str, vault.repairs)
        assert [version.number for version in list_versions(vault.store)] == [1]
        assert check_vault(vault) == []
        assert keep(vault, {"a": b"2"}).number == 2
    assert place.read_bytes() == whole
    assert bool(list((folder / "quarantine").iterdir())) == (damage != "gone")


@pytest.mark.parametrize("damage", [None, b"", b"{}"])
def test_a_damaged_second_copy_is_made_anew(folder: Path, damage: bytes | None) -> None:
    paths = VaultPaths(folder)
    paths.description_copy.unlink()
    if damage is not None:
        paths.description_copy.write_bytes(damage)
    with opened(folder) as vault:
        assert vault.repairs == ()
    assert paths.description_copy.read_bytes() == paths.description.read_bytes()


def test_where_both_are_damaged_the_first_is_named(folder: Path) -> None:
    paths = VaultPaths(folder)
    for place in (paths.description, paths.description_copy):
        place.write_bytes(b"{")
    with pytest.raises(DamagedDescriptionError, match=r"vault/vault\.json cannot be read"):
        read_vault_file(folder)
    paths.description.unlink()
    with pytest.raises(NotAVaultError):
        read_vault_file(folder)


def test_a_copy_that_a_newer_showvault_made_is_not_used(folder: Path) -> None:
    (folder / "vault.json").unlink()
    VaultPaths(folder).description_copy.write_bytes(msgspec.json.encode({"vault_format": 99}))
    with pytest.raises(NewerVaultError):
        read_vault_file(folder)


def test_a_change_of_settings_changes_both_and_stands_if_only_the_copy_fails(folder: Path) -> None:
    paths = VaultPaths(folder)
    before = read_vault_file(folder)
    calls = FailingDisk()
    write_vault_file(folder, msgspec.structs.replace(before, name="Matinee"), disk=calls)
    assert b"Matinee" in paths.description_copy.read_bytes()
    after = msgspec.structs.replace(before, name="Gala")
    write_vault_file(folder, after, disk=FailingDisk(calls.calls))
    assert read_vault_file(folder).name == "Gala"
    assert settle_description(paths, DISK) == []
    assert b"Gala" in paths.description_copy.read_bytes()


def test_a_copy_that_cannot_be_read_is_told(folder: Path) -> None:
    class DyingPlace(type(Path())):  # type: ignore[misc]
        def read_bytes(self) -> bytes:
            if self.name == "vault.json" and self.parent.name == "second":
                raise OSError(5, "Input/output error")
            return super().read_bytes()

    with pytest.raises(DiskError, match="could not read"):
        settle_description(VaultPaths(DyingPlace(folder)), DISK)
