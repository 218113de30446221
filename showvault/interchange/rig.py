"""Rig exchange archives and fixture type files as formats to read and, for the patch, to write."""

from collections.abc import Mapping

from showvault.interchange.allowance import Allowance
from showvault.interchange.fixture_types import read_fixture_type
from showvault.interchange.loss_book import LossBook
from showvault.interchange.mvr_reading import read_rig
from showvault.interchange.mvr_writing import write_rig
from showvault.interchange.opaque import judge_archive
from showvault.interchange.reader import (
    Options,
    ReadResult,
    Role,
    WriteResult,
    choose,
    refuse_unknown,
)
from showvault.show.reading import Wholeness
from showvault.show.trees import Tree

_ARCHIVE = b"PK"


class RigReader:
    """Reads patch, positions and fixture types of an MVR; writes an MVR with the patch."""

    name = "mvr"
    version = "2"
    role: Role = "source"
    extensions: tuple[str, ...] = (".mvr",)
    options: Mapping[str, str] = {
        "modes": "used (the modes that fixtures are patched in) or all; used if unsaid"
    }

    def sniff(self, name: str, head: bytes) -> bool:
        """Tell by the name; an archive alone could be anything."""
        return name.lower().endswith(self.extensions) and head.startswith(_ARCHIVE)

    def judge(self, data: bytes) -> Wholeness:
        """Tell whether the archive is complete."""
        return judge_archive(data)

    def read(self, data: bytes, options: Options) -> ReadResult:
        """Return the rig as a show. Raises CannotReadError for an unsafe or unreadable archive."""
        refuse_unknown(options, self.options, "the reader of rigs")
        return read_rig(data, choose(options, "modes", ("used", "all")))

    def write(self, show: Tree, options: Options) -> WriteResult:
        """Write the patch."""
        refuse_unknown(options, self.options, "the writer of rigs")
        return write_rig(show)


class FixtureTypeReader:
    """Reads one fixture type file (GDTF) as a show without a patch."""

    name = "gdtf"
    version = "2"
    role: Role = "source"
    extensions: tuple[str, ...] = (".gdtf",)
    options: Mapping[str, str] = {}

    def sniff(self, name: str, head: bytes) -> bool:
        """Tell by the name; an archive alone could be anything."""
        return name.lower().endswith(self.extensions) and head.startswith(_ARCHIVE)

    def judge(self, data: bytes) -> Wholeness:
        """Tell whether the archive is complete."""
        return judge_archive(data)

    def read(self, data: bytes, options: Options) -> ReadResult:
        """Return the fixture type with all its modes, under the name it gives itself."""
        refuse_unknown(options, self.options, "the reader of fixture types")
        book = LossBook()
        made = read_fixture_type(data, None, book, "the fixture type", Allowance())
        show = {
            "format": "neutral-show",
            "format_version": 1,
            "fixture_types": {made.get("name", "fixture"): made},
        }
        return ReadResult(show, book.losses())
