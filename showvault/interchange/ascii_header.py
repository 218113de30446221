"""What ASCII cue data says before its items: names, settings and the patch."""

from collections.abc import Callable

from showvault.interchange.ascii_lexing import channel_of, values_of
from showvault.interchange.ascii_rules import IDENT, WHOLE_NUMBER
from showvault.interchange.ascii_values import AsciiPatch, ConditionKind, level_steps


class Header:
    """The basic keywords read so far; ``tell`` takes what cannot be used."""

    def __init__(self, tell: Callable[[ConditionKind, str], None]) -> None:
        self.tell = tell
        self.names: dict[str, str] = {}
        self.clear: list[str] = []
        self.set: list[tuple[str, ...]] = []
        self.patch: list[AsciiPatch] = []

    def read_name(self, keyword: str, rest: str) -> None:
        """Read IDENT, MANUFACTURER or CONSOLE."""
        if keyword in self.names:
            self.tell("given twice", f"{keyword} {rest}")
        if keyword == "IDENT" and rest != IDENT:
            self.tell("other version" if rest else "value missing", f"{keyword} {rest}")
        self.names[keyword] = rest

    def read_clear(self, keyword: str, rest: str) -> None:
        """Read what is to be erased before loading."""
        values = values_of(rest)
        if not values:
            self.tell("value missing", keyword)
        self.clear += [value.upper() for value in values]

    def read_set(self, keyword: str, rest: str) -> None:
        """Read a setting of the console."""
        values = values_of(rest)
        if len(values) < 2:
            self.tell("value missing", f"{keyword} {rest}")
        if values:
            self.set.append(tuple(values))

    def read_patch(self, keyword: str, rest: str) -> None:
        """Read a page and its triples of channel, dimmer and level; a bad one stands alone."""
        values = values_of(rest)
        if not values or not WHOLE_NUMBER.fullmatch(values[0]):
            self.tell("bad number" if values else "value missing", f"{keyword} {rest}")
            return
        if len(values) % 3 != 1 or len(values) == 1:
            self.tell("value missing", f"{keyword} {rest}")
        for channel, dimmer, level in zip(values[1::3], values[2::3], values[3::3], strict=False):
            self._patch_one(int(values[0]), f"{channel}<{dimmer}@{level}", channel, dimmer, level)

    def _patch_one(self, page: int, text: str, channel: str, dimmer: str, level: str) -> None:
        plain_channel, plain_dimmer = channel_of(channel), channel_of(dimmer)
        if plain_channel is None or plain_dimmer is None:
            self.tell("bad number", text)
        elif level_steps(level) is None:
            self.tell("bad level", text)
        else:
            self.patch.append(AsciiPatch(page, plain_channel, plain_dimmer, level))
