"""ASCII cue data, line by line, into values; what cannot be used is told and passed over.

Levels make up nearly all of a file, so a CHAN line in its usual spelling takes a short way: each
pair is looked up in the pairs met before. Every other line, and every odd CHAN line, takes the way
that follows the rules one by one.
"""

from collections.abc import Callable
from decimal import Decimal

from showvault.interchange.ascii_header import Header
from showvault.interchange.ascii_lexing import (
    Pairs,
    channel_of,
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
    TIME,
    WHOLE_NUMBER,
)
from showvault.interchange.ascii_values import (
    AsciiData,
    AsciiItem,
    AsciiPart,
    AsciiTime,
    Condition,
    ConditionKind,
    MakerLine,
    level_steps,
)

_CHAN_SPELLINGS = frozenset({"CHAN", "Chan", "chan"})
_LONGEST_QUOTE = 80


def parse_ascii(data: bytes) -> AsciiData:
    """Read a file of any bytes; what is wrong with it stands in ``conditions``."""
    return _Parser().parse(lines_of(data))


class _Parser:
    """Where reading stands: the open item and part, and what was found so far."""

    def __init__(self) -> None:
        self.header = Header(self.tell)
        self.found: dict[str, list[AsciiItem]] = {"CUE": [], "GROUP": [], "SUB": []}
        self.numbers: set[tuple[str, str, str]] = set()
        self.verbatim: list[MakerLine] = []
        self.conditions: list[Condition] = []
        self.item: AsciiItem | None = None
        self.kind = ""
        self.part: AsciiPart | None = None
        self.maker_item = False
        self.skipping = False
        self.line = 0
        self.pairs = Pairs()
        self.odd_channels: set[str] = set()

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
        )

    def tell(self, kind: ConditionKind, text: str) -> None:
        self.conditions.append(Condition(self.line, kind, text.strip()[:_LONGEST_QUOTE]))

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
            _SECONDARY[keyword](self, keyword, rest)

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

    def read_text(self, keyword: str, rest: str) -> None:
        if self.part is not None:
            if self.part.text is not None:
                self.tell("given twice", f"{keyword} {rest}")
            self.part.text = rest

    def read_fade(self, keyword: str, rest: str) -> None:
        values = values_of(rest)
        times = [self.time(value) for value in values[:2]]
        if not values:
            self.tell("value missing", keyword)
        if len(values) > 2:
            self.tell("too many values", f"{keyword} {rest}")
        if self.part is None or not times or times[0] is None:
            return
        time = AsciiTime(times[0], times[1] if len(times) > 1 else None)
        if (self.part.up if keyword == "UP" else self.part.down) is not None:
            self.tell("given twice", f"{keyword} {rest}")
        if keyword == "UP":
            self.part.up = time
        else:
            self.part.down = time

    def read_followon(self, keyword: str, rest: str) -> None:
        values = values_of(rest)
        if not values:
            self.tell("value missing", keyword)
        elif self.item is None or self.kind != "CUE":
            self.tell("outside an item", f"{keyword} {rest}")
        elif (time := self.time(values[0])) is not None:
            if self.item.followon is not None:
                self.tell("given twice", f"{keyword} {rest}")
            self.item.followon = time

    def read_link(self, keyword: str, rest: str) -> None:
        values = values_of(rest)
        if not values:
            self.tell("value missing", keyword)
        elif self.item is None or self.kind != "CUE":
            self.tell("outside an item", f"{keyword} {rest}")
        elif (number := self.number(values[0], CUE_NUMBER.fullmatch)) is not None:
            if self.item.link is not None:
                self.tell("given twice", f"{keyword} {rest}")
            self.item.link = number

    def read_chan(self, rest: str) -> None:
        """Read the pairs of a CHAN line one by one; a bad pair does not take the others along."""
        if self.part is None:
            return
        values = values_of(rest)
        if len(values) % 2 or not values:
            self.tell("value missing", f"CHAN {rest}")
        for channel, level in zip(values[::2], values[1::2], strict=False):
            plain = channel_of(channel)
            if plain is None:
                self.tell("bad number", f"{channel}@{level}")
            elif level_steps(level) is None:
                self.tell("bad level", f"{channel}@{level}")
            else:
                if plain in self.part.levels:
                    self.tell("given twice", f"{channel}@{level}")
                self.part.levels[plain] = level
                self.odd_channels.add(plain)

    def time(self, text: str) -> Decimal | None:
        """Return seconds; None, and a condition, for what is no time."""
        match = TIME.fullmatch(text)
        minutes, seconds = match.groups() if match else (None, "")
        if not seconds or (minutes is not None and Decimal(seconds) >= 60):
            self.tell("bad time", text)
            return None
        return int(minutes or 0) * 60 + Decimal(seconds)

    def number(self, text: str, fits: Callable[[str], object]) -> str | None:
        """Return a number as it is written; None, and a condition, for what is none."""
        if fits(text):
            return text
        self.tell("bad number", text)
        return None


_BASIC: dict[str, Callable[[Header, str, str], None]] = {
    "IDENT": Header.read_name,
    "MANUFACTURER": Header.read_name,
    "CONSOLE": Header.read_name,
    "CLEAR": Header.read_clear,
    "SET": Header.read_set,
    "PATCH": Header.read_patch,
}
_SECONDARY: dict[str, Callable[[_Parser, str, str], None]] = {
    "TEXT": _Parser.read_text,
    "UP": _Parser.read_fade,
    "DOWN": _Parser.read_fade,
    "FOLLOWON": _Parser.read_followon,
    "LINK": _Parser.read_link,
    "CHAN": lambda parser, keyword, rest: parser.read_chan(rest),
}
