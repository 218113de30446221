"""Whether the system really watches every folder it was asked to watch, without a probe file.

Linux says so itself: proc(5), fdinfo of an inotify descriptor, one line for each watch. A limit
that is reached can leave folders out without an error; elsewhere the regular look has to find out.
"""

import os
import sys
from collections.abc import Sequence
from pathlib import Path

import msgspec


class WatchedFolder(msgspec.Struct, frozen=True):
    """A folder to be told about, with or without those in it."""

    path: Path
    recursive: bool


def folders_left_out(folders: Sequence[WatchedFolder]) -> int:
    """How many folders are not watched although they should be; 0 where nobody can tell."""
    if sys.platform != "linux":
        return 0
    wanted = sum(_count_folders(folder) for folder in folders)
    return max(0, wanted - count_watches())


def count_watches(descriptors: Path = Path("/proc/self/fdinfo")) -> int:
    """How many inotify watches this process has; more than any folder has where none can tell."""
    found = 0
    try:
        listed = list(descriptors.iterdir())
    except OSError:
        return sys.maxsize
    for descriptor in listed:
        try:
            found += descriptor.read_bytes().count(b"inotify wd:")
        except OSError:
            continue  # closed since it was listed
    return found


def _count_folders(folder: WatchedFolder) -> int:
    if not folder.recursive:
        return 1
    return sum(1 for _ in os.walk(folder.path))
