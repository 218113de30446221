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
