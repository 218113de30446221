"""The newest versions as plain files that any desk or person can load without this program.

- A name is NUMBER_DATE_TIME_ORIGINAL; order is by number, never by a clock or the file's own time.
- The N newest stay, and the newest of each of the last twelve hours, so that a burst of saves does
  not flush the evening out.
- A copy goes only when its successor is safe and its very bytes are in the history as well.
- Names that are not of this form are not ours: not counted, not touched.
"""

import hashlib
import re
import unicodedata
from collections.abc import Collection, Iterable, Mapping
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from showvault.files.disk import DISK, DiskError, FileSystem
from showvault.files.durable import remove_durably, sync_folder, write_beside
from showvault.vault.parts import safe_name

PENDING = ".pending-"
"""Before a copy's name until its version is published."""

HOURS = 12
NAME = re.compile(r"(\d{6,12})_(\d{4}-\d\d-\d\d)_(\d\d-\d\d-\d\d)_(.+)", re.DOTALL)


class RingCopy(NamedTuple):
    """A plain file of the ring."""

    number: int
    """Of its version."""

    name: str
    """As it lies in the ring."""


class Dated(NamedTuple):
    """A version as far as the ring cares."""

    number: int
    moment: datetime


def ring_name(number: int, moment: datetime, original: str) -> str:
    """The name of a copy; ``moment`` in the local time of the save."""
    return f"{number:06d}_{moment:%Y-%m-%d_%H-%M-%S}_{safe_name(original)}"


def read_ring_name(name: str) -> RingCopy | None:
    """The copy that ``name`` stands for; None for a name that is not ours."""
    match = NAME.fullmatch(name)
    return RingCopy(int(match[1]), name) if match else None


def choose_copies(versions: Iterable[Dated], keep: int) -> frozenset[int]:
    """The numbers of the versions whose copies stay: at least the newest one.

    ``keep`` is how many of the newest stay, 1 or more. The hours are those of the clock, counted
    back from the newest version's time; versions of a clock that ran ahead stay within the twelve.
    """
    newest_first = sorted(versions, key=lambda version: version.number, reverse=True)
    if not newest_first:
        return frozenset()
    stays = {version.number for version in newest_first[: max(1, keep)]}
    now = newest_first[0].moment.timestamp()
    hours: dict[int, int] = {}
    for version in newest_first:
        seconds = version.moment.timestamp()
        if seconds > now - HOURS * 3600 and len(hours) < HOURS:
            hours.setdefault(int(seconds // 3600), version.number)
    return frozenset(stays | set(hours.values()))


def list_names(ring: Path, *, disk: FileSystem = DISK) -> list[str]:
    """Every name in the ring, ours or not. Raises DiskError."""
    try:
        return disk.names(ring)
    except FileNotFoundError:
        return []
    except OSError as error:
        raise DiskError.from_os(error, "look into", ring) from error


def list_copies(ring: Path, *, disk: FileSystem = DISK) -> list[RingCopy]:
    """The copies that lie in the ring, oldest first. Raises DiskError."""
    found = map(read_ring_name, list_names(ring, disk=disk))
    return sorted(copy for copy in found if copy is not None)


def prepare_copies(ring: Path, copies: Mapping[str, bytes], *, disk: FileSystem = DISK) -> None:
    """Write copies, synced, under names that do not count yet. Raises DiskError."""
    for name, data in copies.items():
        write_beside(ring / (PENDING + name), data, disk=disk)


def enter_copies(ring: Path, names: Collection[str], *, disk: FileSystem = DISK) -> None:
    """Give prepared copies the names that count; each must be free. Raises DiskError."""
    if not names:
        return
    for name in names:
        try:
            disk.replace(ring / (PENDING + name), ring / name)
        except OSError as error:
            raise DiskError.from_os(error, "name", ring / name) from error
    sync_folder(ring, disk=disk)


def withdraw_copies(ring: Path, names: Collection[str], *, disk: FileSystem = DISK) -> None:
    """Remove copies of a version that was not published after all. Raises DiskError."""
    for name in names:
        remove_durably(ring / (PENDING + name), disk=disk)
        remove_durably(ring / name, disk=disk)


def hash_copy(path: Path) -> str:
    """The SHA-256 of a plain file; empty when it cannot be read."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return ""


def free_name(name: str, taken: Collection[str]) -> str:
    """``name``, or one like it where a file system would take it for one of ``taken``."""
    folded = set(map(_folded, taken))
    head, dot, ending = name.rpartition(".")
    stem, ending = (head, dot + ending) if dot else (name, "")
    candidate, count = name, 1
    while _folded(candidate) in folded:
        count += 1
        candidate = f"{stem}~{count}{ending}"
    return candidate


def _folded(name: str) -> str:
    """What file systems that fold case or Unicode forms take a name for."""
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())
