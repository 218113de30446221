"""Whether somebody has a file open for writing, where that can be asked without getting in the way.

Linux shows the open files of this user's programs (proc(5)). Elsewhere asking would mean opening
the file so that its writer is refused for a moment: nobody is asked, the wait is longer instead.
"""

import os
import sys
from pathlib import Path

WRITING = os.O_WRONLY | os.O_RDWR


def is_open_for_writing(path: Path) -> bool:
    """Whether a program of this user has ``path`` open for writing now; False where unknown."""
    if sys.platform != "linux":
        return False
    wanted = os.fsencode(path.resolve())
    try:
        processes = [name for name in os.listdir("/proc") if name.isdigit()]  # noqa: PTH208
    except OSError:
        return False
    return any(_writes(f"/proc/{process}", wanted) for process in processes)


def _writes(process: str, wanted: bytes) -> bool:
    try:
        descriptors = os.listdir(f"{process}/fd")  # noqa: PTH208  # names, not paths
    except OSError:
        return False  # ended, or somebody else's
    for descriptor in descriptors:
        try:
            if os.readlink(f"{process}/fd/{descriptor}".encode()) == wanted:  # noqa: PTH115
                flags = Path(f"{process}/fdinfo/{descriptor}").read_text("ascii")
                if _flags_of(flags) & WRITING:
                    return True
        except (OSError, ValueError):
            continue
    return False


def _flags_of(info: str) -> int:
    for line in info.splitlines():
        if line.startswith("flags:"):
            return int(line.split()[1], 8)  # octal: proc(5)
    return 0
