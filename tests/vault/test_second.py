"""Second copies of packs: made once, private, never of what is damaged, dropped when folded."""

import os
import shutil
import stat
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from showvault.files.disk import DISK, DiskError
from showvault.vault.housekeeping import fold_packs, housekeep
from showvault.vault.opening import Vault
from showvault.vault.second import copy_packs, drop_second, list_second
from tests.faults.failing_disk import FailingDisk
from tests.vault.builders import keep, make_vault, opened


@pytest.fixture
def vault(tmp_path: Path) -> Iterator[Vault]:
    with opened(make_vault(tmp_path / "vault")) as vault:
        for number in range(2):
            keep(vault, {"show/n": b"%d" % number})
        yield vault


def packs_of(vault: Vault) -> dict[str, bytes]:
    folder = vault.paths.history / "objects" / "pack"
    return {path.name: path.read_bytes() for path in folder.glob("*.pack")}


def seconds_of(vault: Vault) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in vault.paths.second.glob("*.pack")}


def test_every_pack_has_a_copy_with_the_very_bytes_after_a_save(vault: Vault) -> None:
    housekeep(vault)
    assert len(seconds_of(vault)) == 2
    assert seconds_of(vault) == packs_of(vault)
    assert list_second(vault.paths, DISK) == vault.store.pack_names()


def test_what_has_a_copy_is_not_copied_again(vault: Vault) -> None:
    copy_packs(vault.paths, vault.store)
    before = {path.name: path.stat().st_ino for path in vault.paths.second.glob("*.pack")}
    keep(vault, {"show/n": b"2"})
    assert copy_packs(vault.paths, vault.store) == []
    after = {path.name: path.stat().st_ino for path in vault.paths.second.glob("*.pack")}
    assert len(after) == 3
    assert before.items() <= after.items()


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such permissions")
def test_copies_are_private_to_the_user_however_the_folder_came(vault: Vault) -> None:
    shutil.rmtree(vault.paths.second)
    before = os.umask(0)
    try:
        copy_packs(vault.paths, vault.store)
    finally:
        os.umask(before)
    assert stat.S_IMODE(vault.paths.second.stat().st_mode) == 0o700
    for copy in vault.paths.second.glob("*.pack"):
        assert stat.S_IMODE(copy.stat().st_mode) & 0o077 == 0


def test_a_damaged_pack_is_named_and_not_copied(vault: Vault) -> None:
    folder = vault.paths.history / "objects" / "pack"
    damaged = sorted(folder.glob("*.pack"))[0]
    damaged.chmod(0o600)
    damaged.write_bytes(damaged.read_bytes()[:-1] + b"\0")
    assert copy_packs(vault.paths, vault.store) == [damaged.name]
    assert list_second(vault.paths, DISK) == vault.store.pack_names() - {damaged.name}


def test_other_files_in_the_folder_are_no_copies(vault: Vault) -> None:
    (vault.paths.second / "notes.txt").write_bytes(b"x")
    (vault.paths.second / "pack-1.pack").write_bytes(b"x")
    assert list_second(vault.paths, DISK) == frozenset()


def test_after_folding_only_the_copy_of_the_folded_pack_is_left(vault: Vault) -> None:
    housekeep(vault)
    fold_packs(vault)
    assert len(seconds_of(vault)) == 1
    assert seconds_of(vault) == packs_of(vault)


def test_dropping_nothing_touches_nothing(vault: Vault) -> None:
    disk = FailingDisk(1)
    drop_second(vault.paths, frozenset(), disk)
    assert disk.calls == 0


def test_a_copy_that_cannot_be_dropped_is_told(vault: Vault) -> None:
    copy_packs(vault.paths, vault.store)
    with pytest.raises(DiskError, match="remove a folded pack"):
        drop_second(vault.paths, vault.store.pack_names(), FailingDisk(1))
    assert seconds_of(vault) == packs_of(vault)
