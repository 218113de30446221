"""The record of what was reported as kept: one line a version, only ever added to.

A line is NUMBER SHA256 COMMIT PACKS CHECK. It is written last: a version without a line was never
reported. PACKS are those that are known to be whole since then; a line with number 0 stands for no
version and only tells packs, `=` before them says that they replace all earlier ones. CHECK is the
CRC-32 of what stands before it: one changed bit must not point to a version that never was.
"""

import re
import zlib
from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

from showvault.files.disk import DISK, DiskError, FileSystem
from showvault.files.durable import append_durably

LINE = re.compile(rb"(\d{1,12}) ([0-9a-f]{64}|-) ([0-9a-f]{40}|-) (=?)((?:[0-9a-f]{40},?)*|-)")
LABEL_LINE = re.compile(rb"^0 - [0-9a-f]{40} .*$", re.MULTILINE)
CHECK = re.compile(rb"(.*) ([0-9a-f]{8})")
TAIL_BYTES = 32 * 1024


class Entry(NamedTuple):
    """One line."""

    number: int
    sha256: str
    """Of the version's first file; empty when it has none."""

    commit: str
    packs: tuple[str, ...]
    """Names as in the folder of packs."""

    replaces: bool
    """These packs stand for all that were told before."""


def read_journal(path: Path) -> list[Entry]:
    """Every line that is whole, oldest first; a damaged one is left out. Raises DiskError."""
    return _parse(_read(path, 0))


def newest_entries(entries: Iterable[Entry]) -> dict[int, Entry]:
    """The last line of each version, by its number."""
    return {entry.number: entry for entry in entries if entry.number}


def read_journal_end(path: Path) -> list[Entry]:
    """The newest lines, oldest of them first: enough for what happens every day."""
    return _parse(_read(path, TAIL_BYTES))


def tells_of_labels(path: Path) -> bool:
    """Whether a label was ever given or taken, however long ago. Raises DiskError."""
    return any(entry.commit and not entry.number for entry in _parse(_label_lines(path)))


def append_entry(path: Path, entry: Entry, *, disk: FileSystem = DISK) -> None:
    """Write a line so that it stays. Raises DiskError."""
    packs = ",".join(name[5:45] for name in sorted(entry.packs)) or "-"
    mark = "=" if entry.replaces else ""
    line = f"{entry.number} {entry.sha256 or '-'} {entry.commit or '-'} {mark}{packs}".encode(
        "ascii"
    )
    append_durably(path, b"%s %08x\n" % (line, zlib.crc32(line)), disk=disk)


def last_version(entries: Iterable[Entry]) -> Entry | None:
    """The newest line that stands for a version."""
    found = None
    for entry in entries:
        if entry.number:
            found = entry
    return found


def known_packs(entries: Iterable[Entry]) -> frozenset[str]:
    """The packs that were whole when they were told."""
    packs: frozenset[str] = frozenset()
    for entry in entries:
        told = frozenset(entry.packs)
        packs = told if entry.replaces else packs | told
    return packs


def _read(path: Path, last: int) -> bytes:
    try:
        with path.open("rb") as file:
            if last:
                file.seek(max(0, file.seek(0, 2) - last))
            return file.read()
    except FileNotFoundError:
        return b""
    except OSError as error:
        raise DiskError.from_os(error, "read", path) from error


def _label_lines(path: Path) -> bytes:
    return b"\n".join(LABEL_LINE.findall(_read(path, 0)))


def _parse(text: bytes) -> list[Entry]:
    entries = []
    for line in text.split(b"\n"):
        checked = CHECK.fullmatch(line)
        match = LINE.fullmatch(checked[1]) if checked else None
        if checked and match and zlib.crc32(checked[1]) == int(checked[2], 16):
            number, sha256, commit, mark, packs = (
                group.decode("ascii") for group in match.groups()
            )
            names = tuple(f"pack-{name}.pack" for name in packs.strip("-").split(",") if name)
            entries.append(
                Entry(int(number), sha256.strip("-"), commit.strip("-"), names, mark == "=")
            )
    return entries
