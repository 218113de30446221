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
