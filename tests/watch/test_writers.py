import sys
from pathlib import Path

import pytest

from showvault.watch.writers import is_open_for_writing

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="asked on Linux alone")


@pytest.mark.parametrize("mode", ["wb", "r+b", "ab"])
def test_a_file_that_is_open_for_writing_is_found(tmp_path: Path, mode: str) -> None:
    show = tmp_path / "evening.desk"
    show.write_bytes(b"1")
    with show.open(mode):
        assert is_open_for_writing(show)
    assert not is_open_for_writing(show)


def test_a_reader_is_no_writer(tmp_path: Path) -> None:
    show = tmp_path / "evening.desk"
    show.write_bytes(b"1")
    with show.open("rb"):
        assert not is_open_for_writing(show)


def test_a_file_that_is_not_there_has_no_writer(tmp_path: Path) -> None:
    assert not is_open_for_writing(tmp_path / "gone.desk")


def test_programs_that_end_or_belong_to_others_are_passed_over(tmp_path: Path) -> None:
    """A table of programs as proc(5) lays it out, with gaps."""
    show = tmp_path / "evening.desk"
    show.write_bytes(b"1")
    (tmp_path / "proc" / "1").mkdir(parents=True)
    for program, descriptor, flags in (("2", "3", None), ("2", "4", "pos: 0\n"), ("3", "9", "x")):
        folder = tmp_path / "proc" / program
        (folder / "fd").mkdir(parents=True, exist_ok=True)
        (folder / "fdinfo").mkdir(exist_ok=True)
        (folder / "fd" / descriptor).symlink_to(show)
        if flags is not None:
            (folder / "fdinfo" / descriptor).write_text(flags)
    (tmp_path / "proc" / "self").mkdir()
    assert not is_open_for_writing(show, programs=tmp_path / "proc")
    (tmp_path / "proc" / "3" / "fdinfo" / "9").write_text("pos:\t0\nflags:\t0100002\n")
    assert is_open_for_writing(show, programs=tmp_path / "proc")


def test_without_a_table_of_programs_nobody_is_known_to_write(tmp_path: Path) -> None:
    assert not is_open_for_writing(tmp_path, programs=tmp_path / "gone")
