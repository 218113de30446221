"""What kind of medium a path lies on: a fixed disk, one that can be pulled, or a network drive.

On a network drive nobody can know who holds a lock, and events of other machines do not arrive.
"""

import os
import re
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Literal, NamedTuple

NETWORK_FILE_SYSTEMS = frozenset(
    {
        "9p",
        "afpfs",
        "afs",
        "beegfs",
        "ceph",
        "cifs",
        "coda",
        "davfs",
        "fuse.davfs2",
        "fuse.glusterfs",
        "fuse.gvfsd-fuse",
        "fuse.rclone",
        "fuse.smbnetfs",
        "fuse.sshfs",
        "fuse.vmhgfs-fuse",
        "gfs2",
        "glusterfs",
        "lustre",
        "macfuse_sshfs",
        "ncpfs",
        "nfs",
        "nfs4",
        "ocfs2",
        "orangefs",
        "prl_fs",
        "pvfs2",
        "smb",
        "smb2",
        "smb3",
        "smbfs",
        "sshfs",
        "vboxsf",
        "webdav",
    }
)
LINUX_TABLE = Path("/proc/self/mounts")
REMOVABLE_MOUNTS = ("/media/", "/run/media/", "/Volumes/")


class Storage(NamedTuple):
    """The medium under a path."""

    kind: Literal["fixed", "removable", "network"]
    file_system: str
    """As the system calls it; empty when it does not say."""

    mount_point: Path


class Mount(NamedTuple):
    """One line of the system's table of mounted file systems."""

    point: str
    file_system: str
    device: str


def storage_of(path: Path) -> Storage:
    """The medium of ``path``, or of the nearest folder above it that exists."""
    place = path.absolute()
    while not os.path.exists(place) and place.parent != place:  # noqa: PTH110  # never raises
        place = place.parent
    place = place.resolve()
    if sys.platform == "win32":
        return _storage_on_windows(place)
    return storage_in(_mounts(), place)


def storage_in(mounts: Iterable[Mount], place: Path) -> Storage:
    """The medium of ``place`` according to a table of mounts; later lines cover earlier ones."""
    best = Mount("/", "", "")
    for mount in mounts:
        covers = place == Path(mount.point) or Path(mount.point) in place.parents
        if covers and len(mount.point) >= len(best.point):
            best = mount
    return Storage(_kind(best), best.file_system, Path(best.point))


def read_linux_mounts(text: str) -> list[Mount]:
    """The lines of `/proc/self/mounts` (proc(5): blanks in names are octal escapes)."""
    mounts = []
    for line in text.splitlines():
        fields = line.split(" ")
        if len(fields) >= 3:
            device, point, file_system = (_unescape(field) for field in fields[:3])
            mounts.append(Mount(point, file_system, device))
    return mounts


def read_bsd_mounts(text: str) -> list[Mount]:
    """The lines that `mount` prints on macOS: DEVICE on POINT (TYPE, OPTIONS)."""
    found = re.finditer(r"^(.+?) on (.+) \(([^,)]+)[^)]*\)$", text, re.MULTILINE)
    return [Mount(match[2], match[3], match[1]) for match in found]


def _kind(mount: Mount) -> Literal["fixed", "removable", "network"]:
    if mount.file_system in NETWORK_FILE_SYSTEMS or mount.device.startswith("//"):
        return "network"
    if mount.point.startswith(REMOVABLE_MOUNTS) or _says_removable(mount.device):
        return "removable"
    return "fixed"


def _says_removable(device: str) -> bool:
    name = device.removeprefix("/dev/")
    if not device.startswith("/dev/") or "/" in name:
        return False
    disk = re.sub(r"p?\d+$", "", name)
    try:
        return Path("/sys/block", disk, "removable").read_text("ascii").strip() == "1"
    except (OSError, ValueError):
        return False


def _unescape(field: str) -> str:
    return re.sub(r"\\([0-7]{3})", lambda match: chr(int(match[1], 8)), field)


def _mounts() -> list[Mount]:
    return mounts_in(LINUX_TABLE) if sys.platform == "linux" else mounts_told_by(["/sbin/mount"])


def mounts_in(table: Path) -> list[Mount]:
    """What the system's own table says; nothing where it cannot be read."""
    try:
        return read_linux_mounts(table.read_text("utf-8", "surrogateescape"))
    except OSError:
        return []


def mounts_told_by(command: list[str]) -> list[Mount]:
    """What a system without a table says when it is asked; nothing where it cannot be asked."""
    import subprocess

    try:
        listed = subprocess.run(command, capture_output=True, check=False, timeout=5)
    except (OSError, subprocess.SubprocessError):
        return []
    return read_bsd_mounts(listed.stdout.decode("utf-8", "surrogateescape"))


def _storage_on_windows(place: Path) -> Storage:  # pragma: no cover  # asks Windows itself
    root = place.anchor
    if root.startswith("\\\\"):
        return Storage("network", "", Path(root))
    import ctypes

    drive = getattr(ctypes, "windll").kernel32.GetDriveTypeW(root)  # noqa: B009
    # GetDriveTypeW: 2 is DRIVE_REMOVABLE, 4 is DRIVE_REMOTE (Win32 reference).
    kinds: dict[int, Literal["fixed", "removable", "network"]] = {2: "removable", 4: "network"}
    return Storage(kinds.get(drive, "fixed"), "", Path(root))
