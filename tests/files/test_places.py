import sys
from pathlib import Path

import pytest

from showvault.files.lock import NetworkDriveError, refuse_network_drive
from showvault.files.places import (
    Mount,
    mounts_in,
    mounts_told_by,
    read_bsd_mounts,
    read_linux_mounts,
    storage_in,
    storage_of,
)

LINUX = r"""
proc /proc proc rw 0 0
/dev/nvme0n1p2 / ext4 rw,relatime 0 0
server:/shows /home/ada/shows nfs4 rw 0 0
//desk/share /mnt/desk cifs rw 0 0
/dev/sdz1 /media/ada/MY\040STICK vfat rw 0 0
/dev/sdy1 /run/media/ada/STICK exfat rw 0 0
ada@host:/ /home/ada/far fuse.sshfs rw 0 0
""".lstrip()

MACOS = """
/dev/disk3s1 on / (apfs, sealed, local, read-only, journaled)
//ada@server/shows on /Volumes/shows (smbfs, nodev, nosuid, mounted by ada)
/dev/disk4s1 on /Volumes/MY STICK (msdos, local, nodev)
""".lstrip()


@pytest.mark.parametrize(
    ("place", "kind"),
    [
        ("/home/ada/vault", "fixed"),
        ("/home/ada/shows/evening", "network"),
        ("/home/ada/shows2", "fixed"),
        ("/mnt/desk", "network"),
        ("/media/ada/MY STICK/show.json", "removable"),
        ("/run/media/ada/STICK", "removable"),
        ("/home/ada/far/away", "network"),
    ],
)
def test_the_table_of_linux_tells_the_medium(place: str, kind: str) -> None:
    """Lines as in proc(5); names of file systems from memory of their drivers."""
    assert storage_in(read_linux_mounts(LINUX), Path(place)).kind == kind


@pytest.mark.parametrize(
    ("place", "kind"),
    [("/Users/ada", "fixed"), ("/Volumes/shows/x", "network"), ("/Volumes/MY STICK", "removable")],
)
def test_the_table_of_macos_tells_the_medium(place: str, kind: str) -> None:
    """Lines as mount(8) of macOS prints them, from memory."""
    assert storage_in(read_bsd_mounts(MACOS), Path(place)).kind == kind


def test_a_later_mount_covers_an_earlier_one() -> None:
    mounts = [Mount("/mnt", "ext4", "/dev/a1"), Mount("/mnt", "nfs", "server:/x")]
    assert storage_in(mounts, Path("/mnt/a")).kind == "network"


def test_a_folder_that_is_not_there_yet_lies_where_it_would_be_made(tmp_path: Path) -> None:
    assert storage_of(tmp_path / "not" / "yet") == storage_of(tmp_path)


def test_a_disk_of_this_computer_is_not_refused(tmp_path: Path) -> None:
    refuse_network_drive(tmp_path)


def test_the_refusal_of_a_network_drive_says_the_way_out() -> None:
    error = NetworkDriveError(Path("/mnt/desk"), "nfs4")
    assert error.exit_code == 5
    assert "nfs4" in str(error)
    assert "--vault" in (error.hint or "")


def test_a_line_that_is_cut_off_names_no_mount() -> None:
    assert read_linux_mounts("proc /proc\n\n/dev/a1 /mnt ext4\n") == [
        Mount("/mnt", "ext4", "/dev/a1")
    ]


def test_a_table_that_cannot_be_read_names_no_mount(tmp_path: Path) -> None:
    assert mounts_in(tmp_path / "not there") == []


def test_a_system_without_a_table_is_asked(tmp_path: Path) -> None:
    script = tmp_path / "mount.py"
    script.write_text(f"print({MACOS!r})")
    assert mounts_told_by([sys.executable, str(script)]) == read_bsd_mounts(MACOS)


def test_a_system_that_cannot_be_asked_names_no_mount(tmp_path: Path) -> None:
    assert mounts_told_by([str(tmp_path / "not there")]) == []
