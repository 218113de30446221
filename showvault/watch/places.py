"""What stands now where a watched show or folder stood: the same, another, or nothing.

- A single file is watched by its folder: the file itself may be away for the moment of a rename.
- A folder is known by device and inode: one of the same name may be another folder, or the empty
  place where a medium was mounted. Then nothing was deleted; it is out of sight.
"""

import os
import stat
from pathlib import Path

import msgspec

from showvault.watch.coverage import WatchedFolder


class InSight(msgspec.Struct, frozen=True):
    """The folder can be looked at."""

    folder: WatchedFolder
    identity: tuple[int, int]
    """Device and inode of the folder."""


class OutOfSight(msgspec.Struct, frozen=True):
    """The folder is gone, or nobody may look into it."""

    reason: str


Place = InSight | OutOfSight


def look_at(path: Path, before: InSight | None) -> Place:
    """What stands at ``path``; ``before``: what stood there when it was last in sight."""
    try:
        folder = _folder_of(path, before)
        state = folder.path.stat()
        with os.scandir(folder.path) as entries:
            empty = next(entries, None) is None
    except FileNotFoundError:
        return OutOfSight("it is not there: deleted, renamed, or its medium was pulled")
    except NotADirectoryError:
        return OutOfSight("a file stands where the folder was")
    except PermissionError:
        return OutOfSight("this user may not read it")
    except OSError as error:
        return OutOfSight((error.strerror or type(error).__name__).lower())
    identity = (state.st_dev, state.st_ino)
    if before is not None and empty and before.identity[0] != state.st_dev:
        return OutOfSight("its medium is gone; only the empty place of it is left")
    return InSight(folder, identity)


def _folder_of(path: Path, before: InSight | None) -> WatchedFolder:
    try:
        is_folder = stat.S_ISDIR(path.stat().st_mode)
    except FileNotFoundError:
        is_folder = before is None or before.folder.path == path
    if not is_folder and before is not None and before.folder.path == path:
        raise NotADirectoryError(path)
    return WatchedFolder(path, True) if is_folder else WatchedFolder(path.parent, False)
