"""What is half-written is swept, and nothing else; more of it in tests/faults/test_damage.py."""

import os
from pathlib import Path

from showvault.files.disk import DISK, RealFileSystem
from showvault.vault.layout import VaultPaths
from showvault.vault.sweeping import FOREIGN_LOCK_SECONDS, sweep
from tests.vault.builders import make_vault

NOW = 2_000_000_000.0


def foreign_lock(folder: Path, age: float) -> Path:
    """A lock that only somebody else's git takes, so many seconds old."""
    lock = folder / "history.git" / "packed-refs.lock"
    lock.write_bytes(b"")
    os.utime(lock, (NOW - age, NOW - age))
    return lock


def test_in_a_vault_left_in_order_nothing_is_swept(tmp_path: Path) -> None:
    folder = make_vault(tmp_path / "vault")
    before = sorted(folder.rglob("*"))
    assert sweep(VaultPaths(folder), DISK, NOW) == []
    assert sorted(folder.rglob("*")) == before


def test_a_lock_of_another_git_is_swept_once_it_is_old(tmp_path: Path) -> None:
    folder = make_vault(tmp_path / "vault")
    lock = foreign_lock(folder, FOREIGN_LOCK_SECONDS - 1)
    assert sweep(VaultPaths(folder), DISK, NOW) == []
    assert lock.exists()
    foreign_lock(folder, FOREIGN_LOCK_SECONDS + 1)
    assert [str(repair) for repair in sweep(VaultPaths(folder), DISK, NOW)] == [
        "removed 1 half-written files of a save that was cut off"
    ]
    assert not lock.exists()


def test_a_lock_that_another_git_gives_back_meanwhile_is_nothing_left_over(tmp_path: Path) -> None:
    folder = make_vault(tmp_path / "vault")
    lock = foreign_lock(folder, FOREIGN_LOCK_SECONDS + 1)

    class Meanwhile(RealFileSystem):
        def look(self, path: Path) -> os.stat_result:
            if path == lock:
                lock.unlink()
            return super().look(path)

    assert sweep(VaultPaths(folder), Meanwhile(), NOW) == []
