"""Objects that lie alone: what is not what its name says is found and moved away."""

import zlib
from collections.abc import Iterator
from pathlib import Path

import pytest

from showvault.files.disk import DISK
from showvault.vault.loose import damaged_loose, set_damaged_loose_aside
from showvault.vault.opening import Vault
from tests.vault.builders import keep, make_vault, opened


@pytest.fixture
def vault(tmp_path: Path) -> Iterator[Vault]:
    """A vault with one object that git itself has written alone."""
    with opened(make_vault(tmp_path / "vault")) as vault:
        keep(vault, {"show/n": b"1"})
        vault.store.git.run("hash-object", "-w", "--stdin", doing="write", stdin=b"alone")
        yield vault


def loose(vault: Vault) -> Path:
    (found,) = (vault.paths.history / "objects").glob("??/*")
    found.chmod(0o600)
    return found


def test_a_whole_object_is_left_where_it_is(vault: Vault) -> None:
    assert damaged_loose(vault.paths, DISK) == []
    assert set_damaged_loose_aside(vault.paths, DISK) == []
    assert loose(vault).exists()


@pytest.mark.parametrize("damage", [b"", b"\0" * 30, zlib.compress(b"blob 5\0other")])
def test_a_damaged_object_is_found_and_moved_to_the_quarantine(vault: Vault, damage: bytes) -> None:
    found = loose(vault)
    found.write_bytes(damage)
    assert damaged_loose(vault.paths, DISK) == [found]
    (repair,) = set_damaged_loose_aside(vault.paths, DISK)
    assert str(repair).endswith(f"quarantine/{found.name}")
    assert (vault.paths.quarantine / found.name).read_bytes() == damage
    assert damaged_loose(vault.paths, DISK) == []


def test_an_object_that_cannot_be_read_counts_as_damaged(vault: Vault) -> None:
    found = loose(vault)
    found.unlink()
    found.mkdir()
    assert damaged_loose(vault.paths, DISK) == [found]


def test_git_writes_a_damaged_object_again_once_it_is_away(vault: Vault) -> None:
    """It does not while it believes to have it: durability of git itself."""
    found = loose(vault)
    found.write_bytes(b"")
    set_damaged_loose_aside(vault.paths, DISK)
    vault.store.git.run("hash-object", "-w", "--stdin", doing="write", stdin=b"alone")
    assert damaged_loose(vault.paths, DISK) == []
    assert loose(vault) == found
