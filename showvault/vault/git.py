"""How git is started: bytes in, bytes out, with nothing of the user's or a stranger's settings.

- Arguments are lists; a name that came from outside never stands where an option may stand.
- Every `GIT_*` variable is taken away: one of them can redirect objects into a folder of its own.
- Settings are given on each call, so those of the repository itself cannot run a program.
"""

import errno
import os
import re
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import IO

from showvault.errors import ShowvaultError
from showvault.files.disk import DiskError

SETTINGS = (
    "core.fsync=all",
    "core.fsyncMethod=fsync",
    "core.hooksPath=" + os.devnull,
    "core.fsmonitor=false",
    "core.autocrlf=false",
    "core.attributesFile=" + os.devnull,
    "core.logAllRefUpdates=false",
    "core.bigFileThreshold=16m",
    "pack.compression=1",
    "gc.auto=0",
    "maintenance.auto=false",
    "protocol.allow=never",
    "transfer.fsckObjects=true",
    "commit.gpgSign=false",
    "pack.threads=2",
    "pack.writeReverseIndex=false",
)
OLDEST = (2, 36)
"""The first git with core.fsync (release notes of git 2.36)."""

DISK_COMPLAINTS = (
    ("no space left", errno.ENOSPC),
    ("disk quota", errno.EDQUOT if hasattr(errno, "EDQUOT") else errno.ENOSPC),
    ("file too large", errno.EFBIG),
    ("input/output error", errno.EIO),
    ("read-only file system", errno.EROFS),
    ("permission denied", errno.EACCES),
    ("fsync error", errno.EIO),
    ("write error", errno.EIO),
    ("unable to create", errno.EIO),
    ("unable to write", errno.EIO),
    ("cannot store", errno.EIO),
    ("too many open files", errno.EMFILE),
)

DAMAGE_COMPLAINTS = (
    "packed object",
    "loose object",
    "inflate",
    "corrupt",
    "can't load tree",
    "bad object",
    "unable to read",
    "not a valid object",
)


class GitMissingError(ShowvaultError):
    """There is no git on this machine, or one that cannot sync what it writes."""

    def __init__(self, found: str) -> None:
        super().__init__(
            f"git {OLDEST[0]}.{OLDEST[1]} or newer is needed; {found}",
            hint="install git with the system's own package tool, then try again",
        )


class GitError(ShowvaultError):
    """Git refused what the vault asked of it; what was kept before is untouched."""

    exit_code = 7

    def __init__(self, doing: str, said: str) -> None:
        super().__init__(
            f"git could not {doing}: {said or 'it ended without a word'}",
            hint="what was kept before is untouched; open the vault again to have it mended",
        )
        self.doing = doing
        self.said = said


class DamagedHistoryError(GitError):
    """Git met something in the history that is not whole any more."""


def find_git(search: str) -> str:
    """The full path of git in the folders of ``search`` (as in PATH). Raises GitMissingError.

    The current folder is never searched: a stranger's `git.exe` may lie there (CVE-2023-40590).
    """
    name = "git.exe" if sys.platform == "win32" else "git"
    for folder in search.split(os.pathsep):
        candidate = Path(folder) / name
        if candidate.is_absolute() and os.access(candidate, os.X_OK) and candidate.is_file():
            return str(candidate)
    raise GitMissingError("none was found")


def clean_environment(environ: Mapping[str, str], history: Path) -> dict[str, str]:
    """The variables git is started with."""
    kept = {name: value for name, value in environ.items() if not name.upper().startswith("GIT_")}
    return kept | {
        "GIT_DIR": str(history),
        "GIT_CONFIG_NOSYSTEM": "1",
        "GIT_CONFIG_GLOBAL": os.devnull,
        "GIT_TERMINAL_PROMPT": "0",
        "GIT_NO_REPLACE_OBJECTS": "1",
        "GIT_OPTIONAL_LOCKS": "0",
        "GIT_LITERAL_PATHSPECS": "1",
        "LC_ALL": "C",
    }


class Git:
    """Starts git for one repository."""

    def __init__(
        self, history: Path, environ: Mapping[str, str], *, objects: Path | None = None
    ) -> None:
        """``objects`` is a folder whose objects take the place of the repository's own."""
        self._program = find_git(environ.get("PATH", os.defpath))
        self._history = history
        self._environ = environ
        self._environment = clean_environment(environ, history)
        if objects is not None:
            self._environment["GIT_OBJECT_DIRECTORY"] = str(objects)

    def among(self, objects: Path) -> "Git":
        """The same git for objects that lie elsewhere, such as damaged ones."""
        return Git(self._history, self._environ, objects=objects)

    def run(
        self, *arguments: str, doing: str, stdin: bytes = b"", holding: int | None = None
    ) -> bytes:
        """Run git to its end and return what it printed.

        ``holding`` is the descriptor of a lock that must stay held while git works. Raises
        DiskError where git blames the disk, else GitError.
        """
        child = self.start(*arguments, holding=holding, errors=subprocess.PIPE)
        printed, complaint = child.communicate(stdin)
        if child.returncode != 0:
            raise self.failure(doing, complaint)
        return printed

    def accepts(self, *arguments: str, doing: str) -> bool:
        """Whether git does this without an objection of its own. Raises DiskError."""
        try:
            self.run(*arguments, doing=doing)
        except GitError:
            return False
        return True

    def start(
        self, *arguments: str, holding: int | None, errors: int | IO[bytes]
    ) -> "subprocess.Popen[bytes]":
        """Start git with pipes for its input and output."""
        settings = [word for setting in SETTINGS for word in ("-c", setting)]
        inherited = () if holding is None or sys.platform == "win32" else (holding,)
        try:
            return subprocess.Popen(
                [self._program, *settings, *arguments],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=errors,
                env=self._environment,
                cwd=self._history,
                pass_fds=inherited,
            )
        except OSError as error:
            raise DiskError.from_os(error, "start git in", self._history) from error

    def failure(self, doing: str, complaint: bytes) -> ShowvaultError:
        """The error that git's complaint amounts to."""
        said = _printable(complaint)
        lowered = said.lower()
        for words, code in DISK_COMPLAINTS:
            if words in lowered:
                return DiskError(doing, self._history, said, code=code)
        if any(words in lowered for words in DAMAGE_COMPLAINTS):
            return DamagedHistoryError(doing, said)
        return GitError(doing, said)


def require_new_git(environ: Mapping[str, str]) -> None:
    """Raise GitMissingError unless git can sync what it writes."""
    program = find_git(environ.get("PATH", os.defpath))
    try:
        told = subprocess.run(
            [program, "--version"], capture_output=True, check=False, timeout=30
        ).stdout.decode("ascii", "replace")
    except (OSError, subprocess.SubprocessError) as error:
        raise GitMissingError(f"{program} does not start") from error
    match = re.search(r"(\d+)\.(\d+)", told)
    if match is None or (int(match[1]), int(match[2])) < OLDEST:
        raise GitMissingError(f"{program} says {_printable(told.encode())!r}")


def _printable(complaint: bytes) -> str:
    text = " ".join(complaint.decode("utf-8", "replace").split())
    return "".join(letter if letter.isprintable() else "?" for letter in text)[:400]
