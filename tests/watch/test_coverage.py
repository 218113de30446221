import sys
from pathlib import Path

import pytest

from showvault.watch.coverage import WatchedFolder, count_watches, folders_left_out
from showvault.watch.notices import SystemNotices

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="proc(5) is Linux's own")


def test_the_system_shows_each_folder_it_watches(tmp_path: Path) -> None:
    for number in range(9):
        (tmp_path / f"night{number}").mkdir()
    before = count_watches()
    notices = SystemNotices()
    notices.start([WatchedFolder(tmp_path, True)])
    assert count_watches() == before + 10
    assert folders_left_out([WatchedFolder(tmp_path, True)]) == 0
    notices.stop()
    assert count_watches() == before


def test_folders_that_nobody_watches_are_left_out(tmp_path: Path) -> None:
    (tmp_path / "night").mkdir()
    watched = count_watches()
    assert folders_left_out([WatchedFolder(tmp_path, True)]) == max(0, 2 - watched)
    assert folders_left_out([WatchedFolder(tmp_path, False)]) == max(0, 1 - watched)


def test_where_nobody_can_tell_nothing_counts_as_left_out(tmp_path: Path) -> None:
    assert count_watches(tmp_path / "gone") == sys.maxsize


def test_a_descriptor_that_was_closed_meanwhile_is_passed_over(tmp_path: Path) -> None:
    (tmp_path / "3").mkdir()  # cannot be read, like one that is closed
    (tmp_path / "4").write_text("flags: 0\ninotify wd:1 ino:2\ninotify wd:2 ino:3\n")
    assert count_watches(tmp_path) == 2
