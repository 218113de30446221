"""ASCII cue data, line by line, into values; what cannot be used is told and passed over.

Levels make up nearly all of a file, so a CHAN line in its usual spelling takes a short way: each
pair is looked up in the pairs met before. Every other line, and every odd CHAN line, takes the way
that follows the rules one by one.
"""

from collections.abc import Callable
from decimal import Decimal

from showvault.interchange.ascii_header import Header
from showvault.interchange.ascii_items import SECONDARY, ItemReading
from showvault.interchange.ascii_lexing import (
    Pairs,
    lines_of,
    split_keyword,
    values_of,
)
from showvault.interchange.ascii_rules import (
    COMMENT,
    CUE_NUMBER,
    DEFAULT_PAGE,
    KEYWORDS,
    LINE_LIMIT,
    MAKER,
    WHOLE_NUMBER,
)
from showvault.interchange.ascii_values import (
    AsciiData,
    AsciiItem,
    AsciiPart,
    MakerLine,
)

_CHAN_SPELLINGS = frozenset({"CHAN", "Chan", "chan"})


def parse_ascii(data: bytes) -> AsciiData:
    """Read a file of any bytes; what is wrong with it stands in ``conditions``."""
    return _Parser().parse(lines_of(data))


class _Parser(ItemReading):
    """Where reading stands: the open item and part, and what was found so far."""

    def __init__(self) -> None:
        super().__init__()
        self.header = Header(self.tell)
        self.found: dict[str, list[AsciiItem]] = {"CUE": [], "GROUP": [], "SUB": []}
        self.numbers: set[tuple[str, str, str]] = set()
        self.verbatim: list[MakerLine] = []
        self.maker_item = False
        self.skipping = False
        self.pairs = Pairs()
        self.cut_texts = 0

    def parse(self, lines: list[str]) -> AsciiData:
        end_seen = False
        pair_of = self.pairs.__getitem__
        for self.line, line in enumerate(lines, 1):
            words = line.split()
            if not words:
                continue
            if len(line) > LINE_LIMIT:
                self.tell("line too long", line)
            if words[0] in _CHAN_SPELLINGS and self.part is not None:
                levels = self.part.levels
                before = len(levels)
                try:
                    del words[0]
                    found = list(map(pair_of, words))
                except KeyError:
                    self.read_chan(split_keyword(line.partition(COMMENT)[0])[1])
                    continue
                levels.update(found)
                if len(levels) != before + len(found) or not found:
                    self.tell("given twice" if found else "value missing", line)
                continue
            if self.read_line(line):
                end_seen = True
                break
        if not end_seen:
            self.tell("no end", "")
        return self.finish(end_seen)

    def finish(self, end_seen: bool) -> AsciiData:
        channels = {channel for channel, _ in self.pairs.values()} | self.odd_channels
        return AsciiData(
            ident=self.header.names.get("IDENT"),
            manufacturer=self.header.names.get("MANUFACTURER"),
            console=self.header.names.get("CONSOLE"),
            clear=tuple(self.header.clear),
            set=tuple(self.header.set),
            patch=tuple(self.header.patch),
            cues=tuple(self.found["CUE"]),
            groups=tuple(self.found["GROUP"]),
            subs=tuple(self.found["SUB"]),
            verbatim=tuple(self.verbatim),
            conditions=tuple(self.conditions),
            end_seen=end_seen,
            channels=frozenset(channels),
            cut_texts=self.cut_texts,
        )

    def read_line(self, line: str) -> bool:
        """Read one line; True for ENDDATA."""
        if line.lstrip().startswith(MAKER):
            self.read_maker_line(line.strip())
            return False
        if not (line.isascii() and line.replace("\t", " ").isprintable()):
            self.tell("character", line)
        keyword, rest = split_keyword(line.partition(COMMENT)[0])
        if not keyword:
            return False
        known = KEYWORDS.get(keyword)
        self.cut_texts += keyword == "TEXT" and COMMENT in line
        if known is None:
            self.close()
            self.skipping = True
            self.tell("unknown keyword", line)
        elif keyword == "ENDDATA":
            return True
        elif known.kind == "secondary":
            self.read_secondary(keyword, rest, line)
        else:
            self.close()
            if known.kind == "basic":
                _BASIC[keyword](self.header, keyword, rest)
            else:
                self.open_item(keyword, rest)
        return False

    def close(self) -> None:
        self.item = self.part = None
        self.maker_item = self.skipping = False

    def read_maker_line(self, line: str) -> None:
        dollars = len(line) - len(line.lstrip(MAKER))
        if dollars == 1:
            self.close()
            self.maker_item = True
        kept = MakerLine(self.line, line)
        if dollars == 2 and self.item is not None:
            self.item.verbatim.append(kept)
        else:
            self.verbatim.append(kept)

    def read_secondary(self, keyword: str, rest: str, line: str) -> None:
        if self.maker_item:  # it says something of the maker's item, and only the maker knows what
            self.verbatim.append(MakerLine(self.line, line.strip()))
        elif self.skipping and (keyword != "PART" or self.item is None):
            self.tell("skipped", line)
        elif keyword == "PART":
            self.read_part(rest, line)
        elif self.part is None:
            self.tell("outside an item", line)
        else:
            SECONDARY[keyword](self, keyword, rest)

    def open_item(self, keyword: str, rest: str) -> None:
        values = values_of(rest)
        form = CUE_NUMBER if keyword == "CUE" else WHOLE_NUMBER
        number = self.number(values[0], form.fullmatch) if values else None
        page = self.number(values[1], WHOLE_NUMBER.fullmatch) if len(values) > 1 else None
        if number is None or (page is None and len(values) > 1):
            if not values:
                self.tell("value missing", keyword)
            self.skipping = True
            return
        if len(values) > 2:
            self.tell("too many values", f"{keyword} {rest}")
        self.item = self.part = AsciiItem(number=number, page=page, line=self.line)
        self.kind = keyword
        self.found[keyword].append(self.item)
        place = (keyword, str(Decimal(number).normalize()), str(int(page or DEFAULT_PAGE)))
        if place in self.numbers:
            self.tell("given twice", f"{keyword} {rest}")
        self.numbers.add(place)

    def read_part(self, rest: str, line: str) -> None:
        if self.item is None or self.kind != "CUE":
            self.close()
            self.skipping = True
            self.tell("part outside a cue", line)
            return
        values = values_of(rest)
        number = self.number(values[0], WHOLE_NUMBER.fullmatch) if values else None
        if number is None or int(number) == 0:
            if not values or number is not None:
                self.tell("bad number" if values else "value missing", line)
            self.part, self.skipping = None, True
            return
        plain = str(int(number))
        if plain in self.item.parts:
            self.tell("given twice", line)
        self.skipping = False
        self.part = self.item.parts.setdefault(plain, AsciiPart())


_BASIC: dict[str, Callable[[Header, str, str], None]] = {
    "IDENT": Header.read_name,
    "MANUFACTURER": Header.read_name,
    "CONSOLE": Header.read_name,
    "CLEAR": Header.read_clear,
    "SET": Header.read_set,
    "PATCH": Header.read_patch,
}
