from pathlib import Path

import pytest

from showvault.files.disk import DiskError
from showvault.files.space import (
    RESERVE,
    NoRoomError,
    drop_ballast,
    free_space,
    lay_ballast,
    require_space,
)
from tests.faults.failing_disk import FailingDisk


def test_more_than_there_is_is_refused_with_both_figures(tmp_path: Path) -> None:
    with pytest.raises(NoRoomError, match=r"needs .* GB and .* are free") as caught:
        require_space(tmp_path, free_space(tmp_path) + 10**12)
    assert caught.value.exit_code == 6
    assert "make room" in (caught.value.hint or "")


def test_what_fits_is_not_refused(tmp_path: Path) -> None:
    require_space(tmp_path, 1)


def test_a_folder_that_is_gone_is_told(tmp_path: Path) -> None:
    with pytest.raises(DiskError):
        free_space(tmp_path / "gone")


def test_the_reserve_is_laid_once_and_given_back(tmp_path: Path) -> None:
    lay_ballast(tmp_path / "ballast")
    lay_ballast(tmp_path / "ballast")
    assert (tmp_path / "ballast").stat().st_size == RESERVE
    drop_ballast(tmp_path / "ballast")
    drop_ballast(tmp_path / "ballast")
    assert not (tmp_path / "ballast").exists()


def test_a_reserve_that_cannot_be_laid_or_given_back_is_told(tmp_path: Path) -> None:
    with pytest.raises(DiskError):
        lay_ballast(tmp_path / "ballast", disk=FailingDisk(1))
    (tmp_path / "ballast").write_bytes(b"")
    with pytest.raises(DiskError):
        drop_ballast(tmp_path / "ballast", disk=FailingDisk(1))
