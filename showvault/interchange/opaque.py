"""Files that nobody here can describe: kept byte for byte, and judged only where they prove it.

- A file named as JSON is whole when it parses to its end.
- A ZIP archive is whole when its directory stands at its end (APPNOTE.TXT 4.3.16).
- An empty file, or one of NUL bytes alone, is what a save that failed leaves behind.
"""

from collections.abc import Mapping

from showvault.interchange.reader import Options, ReadResult, Role
from showvault.show.reading import Wholeness, judge_whole

_ZIP_START = b"PK\x03\x04"
_ZIP_END = b"PK\x05\x06"
_ZIP_END_SIZE = 22


class OpaqueReader:
    """Takes any file."""

    name = "opaque"
    version = "1"
    role: Role = "opaque"
    extensions: tuple[str, ...] = ()
    options: Mapping[str, str] = {}

    def sniff(self, name: str, head: bytes) -> bool:
        """Take whatever nobody else took."""
        return True

    def judge(self, data: bytes) -> Wholeness:
        """Tell a file that failed outright; no other can be told from a good one."""
        return judge_empty(data) or Wholeness("unproven")

    def read(self, data: bytes, options: Options) -> ReadResult:
        """Read nothing: the file stays as it is."""
        return ReadResult(None)


class OpaqueJsonReader(OpaqueReader):
    """Takes JSON that is no show: not described, but it proves itself whole."""

    name = "json"
    extensions: tuple[str, ...] = (".json",)

    def sniff(self, name: str, head: bytes) -> bool:
        """Take what is named as JSON."""
        return name.lower().endswith(".json")

    def judge(self, data: bytes) -> Wholeness:
        """Tell whether the document parses to its end."""
        return judge_whole(data)


class OpaqueZipReader(OpaqueReader):
    """Takes ZIP archives of any kind: not described, but they prove themselves whole."""

    name = "zip"
    extensions: tuple[str, ...] = (".zip",)

    def sniff(self, name: str, head: bytes) -> bool:
        """Take what begins as an archive with entries."""
        return head.startswith(_ZIP_START)

    def judge(self, data: bytes) -> Wholeness:
        """Tell whether the archive's directory is there."""
        return judge_archive(data)


def judge_empty(data: bytes) -> Wholeness | None:
    """Tell a file that holds nothing at all; None for every other."""
    if not data:
        return Wholeness("broken", "the file is empty")
    if not data.strip(b"\0"):
        return Wholeness("broken", f"the file is {len(data):,} NUL bytes")
    return None


def judge_archive(data: bytes) -> Wholeness:
    """Tell whether a ZIP archive is complete: it ends in a directory that lies inside the file.

    The record may be followed by a comment of up to 65,535 bytes.
    """
    failed = judge_empty(data)
    if failed is not None:
        return failed
    end = data.rfind(_ZIP_END, max(0, len(data) - _ZIP_END_SIZE - 0xFFFF))
    if end < 0 or len(data) - end < _ZIP_END_SIZE:
        return Wholeness("broken", f"the archive has no end after {len(data):,} bytes")
    comment = int.from_bytes(data[end + 20 : end + 22], "little")
    size = int.from_bytes(data[end + 12 : end + 16], "little")
    if len(data) - end < _ZIP_END_SIZE + comment:
        return Wholeness("broken", "the archive stops in the middle of its closing comment")
    if size != 0xFFFFFFFF and size > end:  # 0xFFFFFFFF: the true size stands in a ZIP64 record
        return Wholeness("broken", "the archive's directory is cut off")
    return Wholeness("whole")
