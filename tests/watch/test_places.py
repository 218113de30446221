import sys
from pathlib import Path

import pytest

from showvault.watch.coverage import WatchedFolder
from showvault.watch.places import InSight, OutOfSight, Place, look_at
from tests.fakes import without_the_rights_of_root


def in_sight(place: Place) -> InSight:
    assert isinstance(place, InSight)
    return place


def reason(place: Place) -> str:
    assert isinstance(place, OutOfSight)
    return place.reason


def test_a_folder_is_watched_with_those_in_it(tmp_path: Path) -> None:
    assert in_sight(look_at(tmp_path, None)).folder == WatchedFolder(tmp_path, True)


def test_a_file_is_watched_by_its_folder(tmp_path: Path) -> None:
    show = tmp_path / "evening.json"
    show.write_text("{}")
    seen = in_sight(look_at(show, None))
    assert seen.folder == WatchedFolder(tmp_path, False)
    show.unlink()
    assert look_at(show, seen) == seen


def test_what_is_not_there_at_first_is_out_of_sight(tmp_path: Path) -> None:
    assert "not there" in reason(look_at(tmp_path / "evening.json", None))


def test_a_file_in_place_of_the_folder_is_out_of_sight(tmp_path: Path) -> None:
    folder = tmp_path / "shows"
    folder.mkdir()
    seen = in_sight(look_at(folder, None))
    folder.rmdir()
    folder.write_text("")
    assert "a file stands" in reason(look_at(folder, seen))


def test_a_link_in_a_circle_is_out_of_sight(tmp_path: Path) -> None:
    """A system error of its own kind: ELOOP."""
    (tmp_path / "shows").symlink_to("shows")
    assert reason(look_at(tmp_path / "shows", None))


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such permissions")
def test_a_folder_nobody_may_read_is_out_of_sight(tmp_path: Path) -> None:
    tmp_path.chmod(0)
    try:
        with without_the_rights_of_root():
            assert "may not read" in reason(look_at(tmp_path, None))
    finally:
        tmp_path.chmod(0o700)


def test_a_medium_that_is_back_with_its_files_is_in_sight(tmp_path: Path) -> None:
    (tmp_path / "evening.json").write_text("{}")
    seen = InSight(WatchedFolder(tmp_path, True), (tmp_path.stat().st_dev + 1, 7))
    assert in_sight(look_at(tmp_path, seen)).identity[1] == tmp_path.stat().st_ino


def test_a_folder_that_was_emptied_is_in_sight(tmp_path: Path) -> None:
    seen = in_sight(look_at(tmp_path, None))
    assert look_at(tmp_path, seen) == seen


def test_a_name_that_the_system_refuses_is_out_of_sight(tmp_path: Path) -> None:
    assert reason(look_at(tmp_path / ("x" * 400), None)) == "file name too long"
