"""How a vault is opened, and under which locks it changes."""

import subprocess
import sys
from pathlib import Path

import pytest

from showvault.errors import ShowvaultError
from showvault.files.disk import DISK, DiskError
from showvault.files.lock import LockHeldError
from showvault.vault.layout import NotAVaultError
from showvault.vault.opening import WRITER, Vault, VaultGoneError
from showvault.vault.store import MAIN
from showvault.vault.versions import list_versions
from tests.faults.failing_disk import FailingDisk
from tests.vault.builders import keep, make_vault, opened

HOLD = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from showvault.files.lock import hold_lock
hold_lock(Path(sys.argv[1]), "writer", "a long save", clock=lambda: datetime.now(UTC))
print("held", flush=True)
sys.stdin.read()
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = make_vault(tmp_path / "vault")
    with opened(folder) as vault:
        keep(vault, {"show/1.json": b"1"})
    return folder


def test_a_vault_can_be_read_while_somebody_writes_and_nothing_is_mended(folder: Path) -> None:
    with subprocess.Popen(
        [sys.executable, "-c", HOLD, str(folder / "locks")],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        cwd=Path(__file__).parents[2],
    ) as holder:
        assert holder.stdout is not None
        assert holder.stdin is not None
        assert holder.stdout.readline() == b"held\n"
        (folder / ".showvault-1-1").write_bytes(b"of the save that goes on")
        with opened(folder) as vault:
            assert vault.repairs == ()
            assert len(list_versions(vault.store)) == 1
        assert (folder / ".showvault-1-1").exists()
        holder.stdin.close()


def test_what_another_writer_left_is_mended_before_the_next_save(folder: Path) -> None:
    with opened(folder) as vault:
        lock = vault.paths.locks / f"{WRITER}.holder"
        lock.write_bytes(b'{"pid":1,"host":"desk","since":"","what":"a save"}')
        (vault.paths.ring / ".showvault-1-1").write_bytes(b"x")
        assert keep(vault, {"show/1.json": b"2"}).number == 2
        assert [str(repair) for repair in vault.repairs] == [
            "removed 1 half-written files of a save that was cut off"
        ]


def test_a_branch_damaged_while_the_vault_is_open_is_mended_before_the_next_save(
    folder: Path,
) -> None:
    with opened(folder) as vault:
        (vault.paths.history / MAIN).write_bytes(b"\0" * 41)
        assert keep_twice(vault) == 2
        assert len(vault.repairs) == 1


def keep_twice(vault: Vault) -> int:
    """The first attempt may be refused: the caller looked before the mending."""
    try:
        return keep(vault, {"show/1.json": b"2"}).number
    except ShowvaultError:
        with vault.writing("looking"):
            pass
        return keep(vault, {"show/1.json": b"2"}).number


def test_mending_that_fails_is_done_by_the_next_one(folder: Path) -> None:
    with opened(folder) as vault:
        (vault.paths.locks / f"{WRITER}.holder").write_bytes(
            b'{"pid":1,"host":"desk","since":"","what":"a save"}'
        )
        vault.store.disk = FailingDisk(1, stays=1000)
        with pytest.raises(DiskError), vault.writing("a save"):
            pass
        vault.store.disk = DISK
        assert (vault.paths.locks / f"{WRITER}.holder").exists()
        assert keep(vault, {"show/1.json": b"2"}).number == 2


def test_nothing_is_made_where_an_open_vault_was_until_it_is_back(folder: Path) -> None:
    with opened(folder) as vault:
        away = folder.rename(folder.with_name("away"))
        with pytest.raises(VaultGoneError, match="the vault is gone from"):
            keep(vault, {"show/1.json": b"2"})
        assert not folder.exists()
        away.rename(folder)
        assert keep(vault, {"show/1.json": b"2"}).number == 2


def test_an_open_vault_that_cannot_be_looked_into_is_not_there(folder: Path) -> None:
    with opened(folder) as vault:
        assert vault.is_there()
        vault.folder = folder / ("x" * 400)
        assert not vault.is_there()


def test_a_second_watcher_is_refused(folder: Path) -> None:
    with (
        opened(folder) as one,
        opened(folder) as other,
        one.watch_lock(),
        pytest.raises(LockHeldError, match="showvault watch"),
    ):
        other.watch_lock()


def test_a_folder_without_a_vault_is_told(tmp_path: Path) -> None:
    with pytest.raises(NotAVaultError):
        opened(tmp_path)
