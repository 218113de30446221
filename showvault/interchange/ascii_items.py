"""What ASCII cue data says inside an item: its labels, times, links and levels."""

from collections.abc import Callable, Mapping
from decimal import Decimal

from showvault.interchange.ascii_lexing import channel_of, seconds_of, values_of
from showvault.interchange.ascii_rules import CUE_NUMBER
from showvault.interchange.ascii_values import (
    AsciiItem,
    AsciiPart,
    AsciiTime,
    Condition,
    ConditionKind,
    level_steps,
)

_LONGEST_QUOTE = 80


class ItemReading:
    """The open item and part, and the conditions told so far."""

    def __init__(self) -> None:
        self.item: AsciiItem | None = None
        self.kind = ""
        self.part: AsciiPart | None = None
        self.line = 0
        self.conditions: list[Condition] = []
        self.odd_channels: set[str] = set()
        """Channels of pairs that were read one by one."""

    def tell(self, kind: ConditionKind, text: str) -> None:
        self.conditions.append(Condition(self.line, kind, text.strip()[:_LONGEST_QUOTE]))

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
        text = self.value_of_cue(keyword, rest)
        time = None if text is None else self.time(text)
        if self.item is not None and time is not None:
            if self.item.followon is not None:
                self.tell("given twice", f"{keyword} {rest}")
            self.item.followon = time

    def read_link(self, keyword: str, rest: str) -> None:
        text = self.value_of_cue(keyword, rest)
        number = None if text is None else self.number(text, CUE_NUMBER.fullmatch)
        if self.item is not None and number is not None:
            if self.item.link is not None:
                self.tell("given twice", f"{keyword} {rest}")
            self.item.link = number

    def value_of_cue(self, keyword: str, rest: str) -> str | None:
        """Return the value of a keyword that only cues have; None, and a condition, elsewhere."""
        values = values_of(rest)
        if values and self.item is not None and self.kind == "CUE":
            return values[0]
        self.tell("outside an item" if values else "value missing", f"{keyword} {rest}")
        return None

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
        seconds = seconds_of(text)
        if seconds is None:
            self.tell("bad time", text)
        return seconds

    def number(self, text: str, fits: Callable[[str], object]) -> str | None:
        """Return a number as it is written; None, and a condition, for what is none."""
        if fits(text):
            return text
        self.tell("bad number", text)
        return None


SECONDARY: Mapping[str, Callable[[ItemReading, str, str], None]] = {
    "TEXT": ItemReading.read_text,
    "UP": ItemReading.read_fade,
    "DOWN": ItemReading.read_fade,
    "FOLLOWON": ItemReading.read_followon,
    "LINK": ItemReading.read_link,
    "CHAN": lambda reading, keyword, rest: reading.read_chan(rest),
}
