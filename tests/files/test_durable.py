import errno
import os
import stat
import sys
from pathlib import Path

import pytest

from showvault.files.disk import DiskError, RealFileSystem
from showvault.files.durable import (
    NOT_READ_SOON,
    WORTH_HURRYING,
    append_durably,
    make_folder_durably,
    move_durably,
    remove_durably,
    replace_by_pieces,
    replace_durably,
    write_beside,
    write_durably,
    write_unsynced,
)
from tests.faults.failing_disk import FailingDisk

posix = pytest.mark.skipif(sys.platform == "win32", reason="permissions of POSIX")


def test_a_file_that_is_written_holds_the_very_bytes(tmp_path: Path) -> None:
    write_durably(tmp_path / "show.json", b"a\r\nb\0")
    assert (tmp_path / "show.json").read_bytes() == b"a\r\nb\0"


def test_the_file_is_synced_before_it_gets_its_name_and_the_folder_after(tmp_path: Path) -> None:
    """The order that keeps the old or the new bytes at every moment (fsync and rename, POSIX)."""
    disk = FailingDisk()
    write_durably(tmp_path / "show.json", b"bytes", disk=disk)
    order = [call.split(" ")[0] for call in disk.log if not call.startswith("write")]
    assert order == ["open", "sync", "replace", "sync_folder"]


def test_short_writes_lose_nothing(tmp_path: Path) -> None:
    data = bytes(range(256)) * 50
    disk = FailingDisk()  # takes half of what it is given each time
    write_durably(tmp_path / "show.json", data, disk=disk)
    assert (tmp_path / "show.json").read_bytes() == data


@pytest.mark.parametrize("code", [errno.EIO, errno.ENOSPC, errno.EACCES])
def test_whatever_fails_the_old_bytes_or_the_new_are_there_and_no_rest(
    tmp_path: Path, code: int
) -> None:
    path = tmp_path / "show.json"
    path.write_bytes(b"old")
    for n in range(1, 50):
        disk = FailingDisk(n, code)
        try:
            write_durably(path, b"new bytes", disk=disk)
        except DiskError as error:
            assert error.exit_code == 6
            assert "show.json" in str(error)
            assert path.read_bytes() in (b"old", b"new bytes")
            assert os.listdir(tmp_path) == ["show.json"]
            path.write_bytes(b"old")
        else:
            assert n > 4
            return
    pytest.fail("it never came to its end")


@posix
def test_a_file_is_private_unless_it_belongs_to_the_user(tmp_path: Path) -> None:
    write_durably(tmp_path / "ours", b"")
    assert stat.S_IMODE((tmp_path / "ours").stat().st_mode) == 0o600


@posix
def test_a_show_file_that_is_replaced_keeps_its_permissions(tmp_path: Path) -> None:
    path = tmp_path / "show.json"
    path.write_bytes(b"old")
    path.chmod(0o640)
    replace_durably(path, b"new")
    assert (path.read_bytes(), stat.S_IMODE(path.stat().st_mode)) == (b"new", 0o640)


def test_bytes_that_are_not_proved_to_be_right_replace_nothing(tmp_path: Path) -> None:
    path = tmp_path / "show.json"
    path.write_bytes(b"old")

    def refuse() -> None:
        assert path.read_bytes() == b"old"
        raise KeyError("another digest")

    with pytest.raises(KeyError):
        replace_by_pieces(path, [b"n", b"ew"], refuse)
    assert os.listdir(tmp_path) == ["show.json"]
    assert path.read_bytes() == b"old"
    replace_by_pieces(path, [b"n", b"ew"], lambda: None)
    assert path.read_bytes() == b"new"


@posix
def test_a_new_show_file_gets_the_permissions_of_any_new_file(tmp_path: Path) -> None:
    replace_durably(tmp_path / "show.json", b"new")
    (tmp_path / "other").write_bytes(b"")
    assert (tmp_path / "show.json").stat().st_mode == (tmp_path / "other").stat().st_mode


def test_lines_are_added_one_after_the_other(tmp_path: Path) -> None:
    append_durably(tmp_path / "journal", b"one\n")
    append_durably(tmp_path / "journal", b"two\n")
    assert (tmp_path / "journal").read_bytes() == b"one\ntwo\n"


def test_a_line_that_was_cut_off_spoils_no_other(tmp_path: Path) -> None:
    (tmp_path / "journal").write_bytes(b"one\ntw")
    append_durably(tmp_path / "journal", b"three\n")
    assert (tmp_path / "journal").read_bytes() == b"one\ntw\nthree\n"


def test_a_line_that_cannot_be_synced_is_taken_back(tmp_path: Path) -> None:
    append_durably(tmp_path / "journal", b"one\n")
    calls = FailingDisk()
    append_durably(tmp_path / "probe", b"", disk=calls)
    for n in range(1, 20):
        disk = FailingDisk(n)
        try:
            append_durably(tmp_path / "journal", b"two\n", disk=disk)
        except DiskError:
            assert (tmp_path / "journal").read_bytes() == b"one\n"
        else:
            assert (tmp_path / "journal").read_bytes() == b"one\ntwo\n"
            return
    pytest.fail("it never came to its end")


def test_moving_never_covers_another_file(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"a")
    (tmp_path / "b").write_bytes(b"b")
    with pytest.raises(DiskError, match="already there"):
        move_durably(tmp_path / "a", tmp_path / "b")
    assert (tmp_path / "b").read_bytes() == b"b"


def test_moving_between_folders_syncs_both(tmp_path: Path) -> None:
    (tmp_path / "from").mkdir()
    (tmp_path / "to").mkdir()
    (tmp_path / "from" / "a").write_bytes(b"a")
    disk = FailingDisk()
    move_durably(tmp_path / "from" / "a", tmp_path / "to" / "a", disk=disk)
    synced = {call for call in disk.log if call.startswith("sync_folder")}
    assert synced == {f"sync_folder {tmp_path / 'to'}", f"sync_folder {tmp_path / 'from'}"}


def test_removing_what_is_not_there_is_fine(tmp_path: Path) -> None:
    remove_durably(tmp_path / "nothing")
    (tmp_path / "a").write_bytes(b"")
    remove_durably(tmp_path / "a")
    assert os.listdir(tmp_path) == []


@posix
def test_folders_are_made_private_and_each_parent_is_synced(tmp_path: Path) -> None:
    disk = FailingDisk()
    make_folder_durably(tmp_path / "a" / "b", disk=disk)
    assert stat.S_IMODE((tmp_path / "a" / "b").stat().st_mode) == 0o700
    assert [call for call in disk.log if call.startswith("sync_folder")] == [
        f"sync_folder {tmp_path}",
        f"sync_folder {tmp_path / 'a'}",
    ]


def test_a_file_in_the_place_of_a_folder_is_told(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"")
    with pytest.raises(DiskError, match="something else"):
        make_folder_durably(tmp_path / "a")


def test_a_prepared_file_that_fails_leaves_nothing(tmp_path: Path) -> None:
    for n in (1, 2, 3):
        with pytest.raises(DiskError):
            write_beside(tmp_path / "copy", b"x", disk=FailingDisk(n))
        assert os.listdir(tmp_path) == []


def test_what_need_not_stay_is_whole_all_the_same(tmp_path: Path) -> None:
    write_unsynced(tmp_path / "holder", b"me")
    assert (tmp_path / "holder").read_bytes() == b"me"


def test_a_name_that_could_steer_a_terminal_is_told_harmlessly(tmp_path: Path) -> None:
    with pytest.raises(DiskError) as caught:
        write_durably(tmp_path / "no" / "a\x1b]0;x\x07", b"")
    assert "\x1b" not in str(caught.value)
    assert caught.value.hint


def test_a_drive_that_is_not_there_is_told(tmp_path: Path) -> None:
    """As Z: on Windows, above which there is nothing."""

    class WithoutDrive(RealFileSystem):
        def look(self, path: Path) -> os.stat_result:
            raise FileNotFoundError(2, "no such drive")

        def mkdir(self, path: Path, mode: int) -> None:
            raise OSError(2, "no such drive", str(path))

    with pytest.raises(DiskError, match="no such drive"):
        make_folder_durably(Path(tmp_path.anchor) / "vault", disk=WithoutDrive())


class Remembering(RealFileSystem):
    """A disk that tells which files it no longer mirrors in memory."""

    def __init__(self) -> None:
        super().__init__()
        self.synced: list[int] = []
        self.uncached: list[int] = []

    def sync(self, descriptor: int) -> None:
        super().sync(descriptor)
        self.synced.append(descriptor)

    def uncache(self, descriptor: int) -> None:
        assert descriptor in self.synced, "what is not on the disk yet must stay in memory"
        super().uncache(descriptor)
        self.uncached.append(descriptor)


class Hurried(RealFileSystem):
    """A disk that tells what it was asked to begin with before the sync."""

    def __init__(self) -> None:
        super().__init__()
        self.told: list[tuple[int, int] | str] = []

    def hurry(self, descriptor: int, start: int, size: int) -> None:
        super().hurry(descriptor, start, size)
        self.told.append((start, size))

    def sync(self, descriptor: int) -> None:
        super().sync(descriptor)
        self.told.append("sync")


def test_the_disk_begins_with_large_pieces_before_it_is_waited_for(tmp_path: Path) -> None:
    disk = Hurried()
    pieces = [b"a" * WORTH_HURRYING, b"b" * 10, b"c" * (WORTH_HURRYING + 1)]
    replace_by_pieces(tmp_path / "show.json", pieces, lambda: None, disk=disk)
    second = (WORTH_HURRYING + 10, WORTH_HURRYING + 1)
    assert disk.told[:3] == [(0, WORTH_HURRYING), second, "sync"]
    assert (tmp_path / "show.json").read_bytes() == b"".join(pieces)


def test_a_hint_that_is_refused_stops_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*of: object) -> None:
        raise OSError(22, "invalid argument")

    monkeypatch.setattr(os, "posix_fadvise", refuse, raising=False)
    write_durably(tmp_path / "show.json", b"a" * WORTH_HURRYING)
    assert (tmp_path / "show.json").stat().st_size == WORTH_HURRYING


def test_a_large_copy_does_not_stay_in_memory_once_it_is_synced(tmp_path: Path) -> None:
    disk = Remembering()
    write_beside(tmp_path / "small", b"x" * (NOT_READ_SOON - 1), disk=disk)
    assert not disk.uncached
    write_beside(tmp_path / "large", b"x" * NOT_READ_SOON, disk=disk)
    assert len(disk.uncached) == 1
    assert (tmp_path / "large").read_bytes() == b"x" * NOT_READ_SOON
