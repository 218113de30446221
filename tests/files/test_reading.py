import os
import socket
import sys
from pathlib import Path

import pytest

from showvault.files.disk import DiskError, RealFileSystem
from showvault.files.reading import (
    FileGoneError,
    FileTooBigError,
    NotAPlainFileError,
    StillChangingError,
    identify,
    is_gone,
    read_settled,
)

posix = pytest.mark.skipif(sys.platform == "win32", reason="kinds of files of POSIX")


class MeddlingDisk(RealFileSystem):
    """Changes the file at the moment it has been read."""

    def __init__(self, path: Path, new: bytes) -> None:
        super().__init__()
        self.path, self.new = path, new

    def read(self, descriptor: int, size: int) -> bytes:
        data = super().read(descriptor, size)
        if self.new:
            self.path.write_bytes(self.new)
            self.new = b""
        return data


def test_a_file_is_read_with_its_identity(tmp_path: Path) -> None:
    path = tmp_path / "show.json"
    path.write_bytes(b"{}\r\n")
    read = read_settled(path)
    assert (read.data, read.identity) == (b"{}\r\n", identify(path))
    assert read.identity.size == 4


def test_an_empty_file_is_a_file(tmp_path: Path) -> None:
    (tmp_path / "empty").write_bytes(b"")
    assert read_settled(tmp_path / "empty").data == b""


def test_nothing_there_has_no_identity(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    assert identify(tmp_path / "nothing") is None
    assert identify(tmp_path / "file" / "below") is None
    with pytest.raises(FileGoneError):
        read_settled(tmp_path / "nothing")


@posix
def test_a_link_is_not_followed(tmp_path: Path) -> None:
    (tmp_path / "secret").write_bytes(b"secret")
    (tmp_path / "show.json").symlink_to(tmp_path / "secret")
    with pytest.raises(NotAPlainFileError, match="a link"):
        read_settled(tmp_path / "show.json")


@posix
def test_a_pipe_is_refused_without_waiting(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "show.json")
    with pytest.raises(NotAPlainFileError, match="a pipe"):
        read_settled(tmp_path / "show.json")


@posix
def test_a_socket_a_device_and_a_folder_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)  # a socket's path must be short
    with socket.socket(socket.AF_UNIX) as plug:
        plug.bind("plug")
        with pytest.raises(NotAPlainFileError, match="a socket"):
            read_settled(tmp_path / "plug")
    with pytest.raises(NotAPlainFileError, match="a device"):
        read_settled(Path("/dev/zero"))
    with pytest.raises(NotAPlainFileError, match="a folder"):
        read_settled(tmp_path)


@posix
def test_what_became_a_pipe_after_the_look_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "show.json"
    path.write_bytes(b"{}")

    class Swapping(RealFileSystem):
        def open(self, path: Path, flags: int, mode: int = 0o600) -> int:
            path.unlink()
            os.mkfifo(path)
            return super().open(path, flags, mode)

    with pytest.raises(NotAPlainFileError):
        read_settled(path, disk=Swapping())


def test_a_sparse_terabyte_is_refused_at_once(tmp_path: Path) -> None:
    with (tmp_path / "huge").open("wb") as file:
        try:
            file.truncate(10**12)
        except OSError:
            pytest.skip("this file system holds no sparse file of a terabyte")
    with pytest.raises(FileTooBigError, match="1,000,000,000,000"):
        read_settled(tmp_path / "huge")


@pytest.mark.parametrize("new", [b"longer than before", b"s", b"other"])
def test_a_file_that_changes_while_it_is_read_is_not_taken(tmp_path: Path, new: bytes) -> None:
    path = tmp_path / "show.json"
    path.write_bytes(b"first")
    os.utime(path, ns=(1, 1))
    with pytest.raises(StillChangingError):
        read_settled(path, disk=MeddlingDisk(path, new))


def test_a_file_that_was_swapped_while_it_was_read_is_not_taken(tmp_path: Path) -> None:
    path, other = tmp_path / "show.json", tmp_path / "other"
    path.write_bytes(b"first")
    other.write_bytes(b"other")

    class Swapping(RealFileSystem):
        def read(self, descriptor: int, size: int) -> bytes:
            if other.exists():
                other.replace(path)
            return super().read(descriptor, size)

    with pytest.raises(StillChangingError):
        read_settled(path, disk=Swapping())


def test_a_file_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    class Broken(RealFileSystem):
        def read(self, descriptor: int, size: int) -> bytes:
            raise OSError(5, "Input/output error")

    (tmp_path / "show.json").write_bytes(b"{}")
    with pytest.raises(DiskError, match="input/output error"):
        read_settled(tmp_path / "show.json", disk=Broken())


@posix
def test_a_place_that_cannot_be_looked_at_is_told_and_is_not_taken_for_gone(tmp_path: Path) -> None:
    """What is gone counts as deleted; what only cannot be seen now must not."""
    (tmp_path / "show.json").write_bytes(b"{}")
    (tmp_path / "circle").symlink_to("circle")
    for path in (tmp_path / "circle" / "show.json", tmp_path / ("x" * 400)):
        with pytest.raises(DiskError, match="could not look at"):
            identify(path)


@posix
def test_a_file_is_gone_only_where_that_can_be_seen(tmp_path: Path) -> None:
    (tmp_path / "show.json").write_bytes(b"{}")
    (tmp_path / "circle").symlink_to("circle")
    assert not is_gone(tmp_path / "show.json")
    assert not is_gone(tmp_path / "circle" / "show.json")
    assert is_gone(tmp_path / "other.json")
