"""What is inside a ZIP archive, taken out without trusting a word it says about itself.

Nothing is ever written to disk. Refused are names that climb out of the archive, two entries of
one name (letter case aside), encryption, links, and compression other than STORE and DEFLATE (MVR,
DIN SPEC 15801, "File Format Definition"). Sizes are counted as bytes really come out, never taken
from the archive's own table, and entries that lie on the same bytes are refused too.
"""

import io
import stat
import struct
import zipfile
import zlib
from dataclasses import dataclass

from showvault.interchange.allowance import Allowance
from showvault.interchange.reader import CannotReadError

MOST_ENTRIES = 20_000
LARGEST_ENTRY = 256 * 1024 * 1024
_ENCRYPTED = 0x1
_LOCAL_HEADER = 30
"""Bytes before an entry's name (APPNOTE.TXT 4.3.7)."""
_DAMAGE = (
    *(zipfile.BadZipFile, zlib.error, struct.error, EOFError, OSError, ValueError),
    *(RuntimeError, IndexError, OverflowError),
)
"""What zipfile raises for archives that were damaged or made to do harm (RuntimeError includes
NotImplementedError)."""


class UnsafeArchiveError(CannotReadError):
    """An archive does something that no honest one needs."""

    def __init__(self, reason: str) -> None:
        super().__init__(
            f"the archive is not opened: {reason}",
            hint="the file itself is kept; export it again, or ask where it came from",
        )
        self.reason = reason


@dataclass
class Archive:
    """An opened archive; archives inside it share its allowance."""

    zip: zipfile.ZipFile
    entries: dict[str, zipfile.ZipInfo]
    """By name in lower case."""
    allowance: Allowance

    def holds(self, name: str) -> bool:
        """Tell whether there is an entry of this name, letter case aside."""
        return name.lower() in self.entries

    def read(self, name: str, limit: int = LARGEST_ENTRY) -> bytes:
        """Return the bytes of an entry. Raises UnsafeArchiveError, or CannotReadError."""
        info = self.entries.get(name.lower())
        if info is None:
            raise CannotReadError(f"the archive holds no {name}")
        most = min(limit, self.allowance.bytes)
        try:
            with self.zip.open(info) as opened:
                data = opened.read(most + 1)
        except _DAMAGE as error:
            raise CannotReadError(f"{name} in the archive is damaged: {error}") from None
        if len(data) > most:
            raise UnsafeArchiveError(f"{printable(name)} unpacks to more than {most:,} bytes")
        self.allowance.bytes -= len(data)
        return data


def open_archive(data: bytes, allowance: Allowance) -> Archive:
    """Open an archive in memory. Raises UnsafeArchiveError, or CannotReadError where it is none."""
    try:
        opened = zipfile.ZipFile(io.BytesIO(data))
    except _DAMAGE as error:
        raise CannotReadError(f"this is no whole archive: {error}") from None
    infos = opened.infolist()
    if len(infos) > MOST_ENTRIES:
        raise UnsafeArchiveError(f"it holds {len(infos):,} entries")
    entries: dict[str, zipfile.ZipInfo] = {}
    for info in infos:
        _refuse_unsafe(info)
        name = info.filename.lower()
        if name in entries:
            raise UnsafeArchiveError(f"it holds {printable(info.filename)} twice")
        entries[name] = info
    _refuse_shared_bytes(infos)
    return Archive(opened, entries, allowance)


def printable(name: str) -> str:
    """Return a name from a file as it can be shown: 80 printable characters at most."""
    text = "".join(char if char.isprintable() else "?" for char in name)
    return text if len(text) <= 80 else text[:79] + "…"


def _refuse_shared_bytes(infos: list[zipfile.ZipInfo]) -> None:
    """Refuse entries that lie on the same bytes: few bytes would unpack again and again."""
    end = 0
    for info in sorted(infos, key=lambda info: info.header_offset):
        if info.header_offset < end:
            raise UnsafeArchiveError(
                f"the entry {printable(info.filename)} lies inside another one"
            )
        end = info.header_offset + _LOCAL_HEADER + info.compress_size


def _refuse_unsafe(info: zipfile.ZipInfo) -> None:
    name = info.orig_filename.replace("\\", "/")
    shown = printable(name)
    if name.startswith("/") or ".." in name.split("/") or name[1:2] == ":" or "\0" in name:
        raise UnsafeArchiveError(f"the entry {shown} climbs out of it")
    if info.flag_bits & _ENCRYPTED:
        raise UnsafeArchiveError(f"the entry {shown} is encrypted")
    if stat.S_ISLNK(info.external_attr >> 16):
        raise UnsafeArchiveError(f"the entry {shown} is a link")
    if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise UnsafeArchiveError(f"the entry {shown} is compressed in an unusual way")
