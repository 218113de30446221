"""A disk that is full to the last byte: nothing is lost, everything can be read, it goes on."""

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from showvault.errors import ShowvaultError
from showvault.files.disk import DISK, RealFileSystem
from showvault.vault.checking import check_vault
from showvault.vault.housekeeping import housekeep
from showvault.vault.opening import Vault
from showvault.vault.publishing import publish_version
from showvault.vault.ring import PENDING
from showvault.vault.versions import list_versions
from tests.faults.failing_disk import FailingDisk
from tests.vault.builders import keep, make_vault, opened, parts_of, pending


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    if sys.platform != "linux" or os.geteuid() != 0:
        pytest.skip("NOT RUN: mounting a small disk needs root on Linux")
    place = tmp_path / "small"
    place.mkdir()
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=40m,nr_inodes=2000", "none", str(place)],
        capture_output=True,
    )
    if made.returncode != 0:
        pytest.skip(f"NOT RUN: a small disk cannot be mounted here: {made.stderr!r}")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


def fill(place: Path, leave: int) -> Path:
    """Occupy the disk but for ``leave`` bytes."""
    filler = place / "filler"
    filler.write_bytes(b"")
    with filler.open("ab", buffering=0) as file:
        free = os.statvfs(place).f_bavail * os.statvfs(place).f_frsize
        file.write(b"x" * max(0, free - leave))
    return filler


class FillingDisk(RealFileSystem):
    """Somebody else fills the disk at the moment at which a save begins to write."""

    def __init__(self, place: Path, leave: int) -> None:
        super().__init__()
        self.place, self.leave = place, leave

    def open(self, path: Path, flags: int, mode: int = 0o600) -> int:
        if path.name.startswith(PENDING):
            fill(self.place, self.leave)
        return super().open(path, flags, mode)


@pytest.mark.mounts
def test_a_disk_that_fills_up_during_a_save_loses_nothing(
    small_disk: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = make_vault(small_disk / "vault")
    with opened(folder) as vault:
        kept = [keep(vault, {"show/n": b"0" * 5000})]
    refused = 0
    levels = [0, *(4096 * n for n in range(1, 60, 2))]
    for number, leave in enumerate(levels):
        with opened(folder) as vault:
            vault.disk = vault.store.disk = FillingDisk(small_disk, leave)
            try:
                noise = os.urandom(20_000)
                kept.append(keep(vault, {"show/n": b"%d" % number + noise}, data=noise))
            except ShowvaultError as error:
                refused += 1
                assert error.exit_code in (6, 7), error
        with opened(folder) as vault:  # still full
            assert list_versions(vault.store) == kept[::-1]
        (small_disk / "filler").unlink()
        with opened(folder) as vault:
            assert list_versions(vault.store) == kept[::-1]
            kept.append(keep(vault, {"show/n": b"%d" % number}))
            assert check_vault(vault) == []
            housekeep(vault)
    with capsys.disabled():
        print(f"\nfull disk: {len(levels)} levels, {refused} refused, 0 lost")
    assert 5 < refused < len(levels)


@pytest.mark.mounts
def test_a_full_disk_is_told_before_anything_is_begun(small_disk: Path) -> None:
    folder = make_vault(small_disk / "vault")
    with opened(folder) as vault:
        version = keep(vault, {"show/n": b"1"})
        filler = fill(small_disk, 0)
        with pytest.raises(ShowvaultError, match="are free") as caught:
            keep(vault, {"show/n": b"2"})
        assert "make room" in (caught.value.hint or "")
        assert parts_of(vault, version) == {"show/n": b"1"}
        filler.unlink()
        keep(vault, {"show/n": b"2"})


def test_on_a_full_disk_the_reserve_pays_for_mending(tmp_path: Path) -> None:
    folder = make_vault(tmp_path / "vault")
    with opened(folder) as vault:
        keep(vault, {"show/n": b"1"})
    journal = folder / "journal"
    journal.write_bytes(b"")  # the version must be recorded again, which needs room

    class Full(FailingDisk):
        def write(self, descriptor: int, data: memoryview) -> int:
            if (folder / "ballast").exists():
                raise OSError(28, "No space left on device")
            return super().write(descriptor, data)

    with opened(folder, disk=Full()) as vault:
        assert [version.number for version in list_versions(vault.store)] == [1]
    assert not (folder / "ballast").exists()
    assert journal.read_bytes() != b""
    with opened(folder) as vault:
        assert (folder / "ballast").exists()


@pytest.mark.skipif(sys.platform == "win32", reason="permissions of POSIX")
def test_a_vault_that_may_only_be_read_can_be_read(tmp_path: Path) -> None:
    folder = make_vault(tmp_path / "vault")
    with opened(folder) as vault:
        version = keep(vault, {"show/n": b"1"})

    class ReadOnly(FailingDisk):
        def open(self, path: Path, flags: int, mode: int = 0o600) -> int:
            if flags & (os.O_WRONLY | os.O_RDWR):
                raise OSError(30, "Read-only file system")
            return super().open(path, flags, mode)

    with opened(folder, disk=ReadOnly()) as vault:
        assert list_versions(vault.store) == [version]
        with pytest.raises(ShowvaultError, match="read-only") as caught:
            save(vault)
        assert caught.value.exit_code == 6
        assert "permissions" in (caught.value.hint or "")
        vault.disk = vault.store.disk = DISK
        save(vault)


def save(vault: Vault) -> None:
    publish_version(vault, pending(vault, {"show/n": b"2"}))
