"""What the disk is asked, where a test can tell; the rest is in test_durable."""

import errno
from pathlib import Path
from typing import Any

import pytest

from showvault.files.disk import (
    REPLACE_ATTEMPTS,
    REPLACE_PAUSE_SECONDS,
    DiskError,
    replace_patiently,
)


class HeldFile(type(Path())):  # type: ignore[misc]
    """A file that a scanner holds for some attempts to rename it."""

    held_for = 0

    def replace(self, target: Any) -> Any:
        if HeldFile.held_for:
            HeldFile.held_for -= 1
            raise PermissionError(13, "a scanner holds it")
        return super().replace(target)


@pytest.mark.parametrize("attempts", [0, 1, REPLACE_ATTEMPTS - 1])
def test_a_file_that_a_scanner_holds_for_a_moment_is_renamed_all_the_same(
    tmp_path: Path, attempts: int
) -> None:
    source, target = HeldFile(tmp_path / "new"), tmp_path / "old"
    source.write_bytes(b"new")
    target.write_bytes(b"old")
    HeldFile.held_for = attempts
    pauses: list[float] = []
    replace_patiently(source, target, pauses.append)
    assert target.read_bytes() == b"new"
    assert pauses == [REPLACE_PAUSE_SECONDS] * attempts


def test_a_file_that_is_held_for_long_is_not_waited_for_for_ever(tmp_path: Path) -> None:
    source, target = HeldFile(tmp_path / "new"), tmp_path / "old"
    source.write_bytes(b"new")
    HeldFile.held_for = REPLACE_ATTEMPTS
    with pytest.raises(PermissionError):
        replace_patiently(source, target, lambda seconds: None)
    assert source.read_bytes() == b"new"


def test_an_error_of_the_system_is_said_in_one_sentence_with_a_way_out() -> None:
    full = DiskError.from_os(OSError(28, "No space left on device"), "write", Path("/shows/a"))
    assert str(full) == "could not write /shows/a: no space left on device"
    assert "make room" in full.hint
    assert "permissions" in DiskError("write", Path("a"), "x", code=13).hint
    assert "move it away" in DiskError("write", Path("a"), "x", code=errno.EISDIR).hint
    assert "cable" in DiskError.from_os(OSError("odd"), "read", Path("a")).hint
