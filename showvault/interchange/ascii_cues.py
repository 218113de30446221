"""ASCII cue data as a format to read and write: known by its keywords, whole by its end mark."""

import re
from collections.abc import Mapping

from showvault.interchange.ascii_lexing import lines_of, split_keyword
from showvault.interchange.ascii_parsing import parse_ascii
from showvault.interchange.ascii_rendering import render_ascii
from showvault.interchange.ascii_rules import COMMENT, KEYWORDS, MAKER
from showvault.interchange.ascii_to_show import CuesAs, show_from_ascii
from showvault.interchange.level_notation import LevelsAs, spell_levels
from showvault.interchange.loss_book import LossBook
from showvault.interchange.opaque import judge_empty
from showvault.interchange.reader import (
    Options,
    ReadResult,
    Role,
    WriteResult,
    choose,
    refuse_unknown,
)
from showvault.interchange.show_to_ascii import ascii_from_show
from showvault.show.reading import Wholeness
from showvault.show.trees import Tree

_HEAD = 4096
_CUES_AS: tuple[CuesAs, ...] = ("pictures", "moves")
_LEVELS_AS: tuple[LevelsAs, ...] = ("auto", "percent", "hex")
_END = re.compile(rb"(?:^|[\r\n])[ \t]*ENDDATA(?![0-9A-Za-z_])", re.IGNORECASE)


class AsciiReader:
    """Reads and writes ASCII cue data."""

    name = "ascii"
    version = "1"
    role: Role = "source"
    extensions: tuple[str, ...] = (".asc",)
    options: Mapping[str, str] = {
        "cues": "pictures (each cue is a whole picture) or moves (it tracks); pictures if unsaid",
        "levels": "how to write levels: auto (per cent or byte, whichever is exact), percent, hex",
    }

    def sniff(self, name: str, head: bytes) -> bool:
        """Tell by the keywords: IDENT 3:0 near the start, or a file .asc that uses others."""
        head = head[:_HEAD]
        if b"\0" in head:
            return False
        found = [split_keyword(line.partition(COMMENT)[0]) for line in lines_of(head)]
        instructions = [(keyword, rest) for keyword, rest in found if keyword]
        if any(keyword == "IDENT" and rest.startswith("3:") for keyword, rest in instructions[:20]):
            return True
        return name.lower().endswith(self.extensions) and any(
            keyword in KEYWORDS or keyword.startswith(MAKER) for keyword, _ in instructions[:20]
        )

    def judge(self, data: bytes) -> Wholeness:
        """Tell whether ENDDATA stands in the file: without it, the file may be cut short."""
        failed = judge_empty(data)
        if failed is not None:
            return failed
        if _END.search(data, max(0, len(data) - _HEAD)) or _END.search(data):
            return Wholeness("whole")
        return Wholeness("broken", "there is no ENDDATA: it ends in the middle")

    def read(self, data: bytes, options: Options) -> ReadResult:
        """Return the show; what cannot be used is told as losses and stops nothing."""
        refuse_unknown(options, self.options, "the reader of ASCII cue data")
        return show_from_ascii(parse_ascii(data), choose(options, "cues", _CUES_AS))

    def write(self, show: Tree, options: Options) -> WriteResult:
        """Write intensities: patch, cues with parts, groups, submasters."""
        refuse_unknown(options, self.options, "the writer of ASCII cue data")
        book = LossBook()
        data = ascii_from_show(show, choose(options, "cues", _CUES_AS), book)
        spelled = spell_levels(data, choose(options, "levels", _LEVELS_AS), book)
        return WriteResult(render_ascii(spelled), book.losses())
