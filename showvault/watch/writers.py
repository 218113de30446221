"""Whether somebody has a file open for writing, where that can be asked without getting in the way.

Linux shows the open files of this user's programs (proc(5)). Elsewhere asking would mean opening
the file so that its writer is refused for a moment: nobody is asked, the wait is longer instead.
"""

import os
from pathlib import Path

WRITING = os.O_WRONLY | os.O_RDWR


def is_open_for_writing(path: Path, *, programs: Path = Path("/proc")) -> bool:
    """Whether a program of this user has ``path`` open for writing now; False where unknown."""
    wanted = os.fsencode(path.resolve())
    try:
        running = [entry for entry in programs.iterdir() if entry.name.isdigit()]
    except OSError:
        return False
    return any(_writes(program, wanted) for program in running)


def _writes(program: Path, wanted: bytes) -> bool:
    try:
        descriptors = list((program / "fd").iterdir())
    except OSError:
        return False  # ended, or somebody else's
    for descriptor in descriptors:
        try:
            if os.fsencode(descriptor.readlink()) == wanted:
                info = (program / "fdinfo" / descriptor.name).read_text("ascii")
                if _flags_in(info) & WRITING:
                    return True
        except (OSError, ValueError):
            continue  # closed since it was listed
    return False


def _flags_in(info: str) -> int:
    for line in info.splitlines():
        if line.startswith("flags:"):
            return int(line.split()[1], 8)  # octal: proc(5)
    return 0
