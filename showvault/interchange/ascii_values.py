"""ASCII cue data as values, before anybody asks what it means for a show.

Numbers keep the text they were written in; ``as_json`` gives the plain form that worked examples
are compared with.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import lru_cache
from typing import Any, Literal

from showvault.interchange.ascii_rules import LEVEL

ConditionKind = Literal[
    "unknown keyword",
    "skipped",
    "outside an item",
    "part outside a cue",
    "bad level",
    "bad number",
    "bad time",
    "value missing",
    "too many values",
    "given twice",
    "line too long",
    "character",
    "other version",
    "no end",
]


@dataclass(frozen=True)
class Condition:
    """Something that could not be used as it stands; reading went on after it."""

    line: int
    """Counted from 1."""
    kind: ConditionKind
    text: str
    """The line, or the part of it that could not be used."""


@dataclass(frozen=True)
class AsciiTime:
    """A fade in seconds, and the wait before it where one is written."""

    time: Decimal
    wait: Decimal | None = None


@dataclass(frozen=True)
class AsciiPatch:
    """A dimmer on a channel; ``level`` is written as a level and scales the dimmer."""

    page: int
    channel: str
    dimmer: str
    level: str


@dataclass(frozen=True)
class MakerLine:
    """A line that belongs to one maker: never interpreted."""

    line: int
    text: str


@dataclass
class AsciiPart:
    """Times, label and levels of a cue or of one of its parts; filled while reading."""

    text: str | None = None
    up: AsciiTime | None = None
    down: AsciiTime | None = None
    levels: dict[str, str] = field(default_factory=dict)
    """Levels as written ("50", "H80"), by channel."""


@dataclass
class AsciiItem(AsciiPart):
    """One cue, group or submaster; filled while reading."""

    number: str = ""
    page: str | None = None
    line: int = 0
    followon: Decimal | None = None
    link: str | None = None
    parts: dict[str, AsciiPart] = field(default_factory=dict)
    verbatim: list[MakerLine] = field(default_factory=list)


@dataclass(frozen=True)
class AsciiData:
    """A whole file."""

    ident: str | None
    manufacturer: str | None
    console: str | None
    clear: tuple[str, ...]
    set: tuple[tuple[str, ...], ...]
    patch: tuple[AsciiPatch, ...]
    cues: tuple[AsciiItem, ...]
    groups: tuple[AsciiItem, ...]
    subs: tuple[AsciiItem, ...]
    verbatim: tuple[MakerLine, ...]
    conditions: tuple[Condition, ...]
    end_seen: bool
    channels: frozenset[str]
    """Every channel that has a level somewhere."""
    cut_texts: int = 0
    """How many TEXT lines end in a comment, which may have been meant as text."""

    def as_json(self) -> dict[str, Any]:
        """Return plain values: levels with their raw text and scale, times in seconds."""
        return {
            "ident": self.ident,
            "manufacturer": self.manufacturer,
            "console": self.console,
            "clear": list(self.clear),
            "set": [list(words) for words in self.set],
            "patch": [
                {
                    "page": entry.page,
                    "channel": int(entry.channel),
                    "dimmer": int(entry.dimmer),
                    "level": _level_as_json(entry.level),
                }
                for entry in self.patch
            ],
            "cues": [_item_as_json(item) for item in self.cues],
            "groups": [_item_as_json(item) for item in self.groups],
            "subs": [_item_as_json(item) for item in self.subs],
            "verbatim": _lines_as_json(self.verbatim),
            "conditions": [
                {"line": condition.line, "condition": condition.kind, "text": condition.text}
                for condition in self.conditions
            ],
            "end_seen": self.end_seen,
        }


@lru_cache(maxsize=1024)
def level_steps(raw: str) -> tuple[int, int] | None:
    """Return a written level as steps of how many: "50" is 50 of 100, "H80" is 128 of 255.

    None for a text that is no level.
    """
    match = LEVEL.fullmatch(raw)
    if match is None:
        return None
    percent, byte = match.groups()
    if byte is not None:
        return int(byte, 16), 255
    return (int(percent), 100) if int(percent) <= 100 else None


@lru_cache(maxsize=1024)
def level_percent(raw: str) -> int | Decimal:
    """Return a written level in percent, bytes with six places: "H80" is 50.196078."""
    steps = level_steps(raw)
    if steps is None:
        raise ValueError(f"{raw!r} is no level")
    number, scale = steps
    if number * 100 % scale == 0:
        return number * 100 // scale
    return round(Decimal(number * 100) / scale, 6).normalize()


def _level_as_json(raw: str) -> dict[str, Any]:
    number, scale = level_steps(raw) or (0, 0)
    return {"raw": raw, "n": number, "of": scale}


def _part_as_json(part: AsciiPart) -> dict[str, Any]:
    return {
        "text": part.text,
        "up": _time_as_json(part.up),
        "down": _time_as_json(part.down),
        "levels": {channel: _level_as_json(raw) for channel, raw in part.levels.items()},
    }


def _item_as_json(item: AsciiItem) -> dict[str, Any]:
    return {
        "number": item.number,
        **_part_as_json(item),
        "followon": None if item.followon is None else float(item.followon),
        "link": item.link,
        "parts": {number: _part_as_json(part) for number, part in item.parts.items()},
        "verbatim": _lines_as_json(item.verbatim),
    }


def _time_as_json(time: AsciiTime | None) -> dict[str, float] | None:
    if time is None:
        return None
    return {"time": float(time.time), "wait": float(time.wait or 0)}


def _lines_as_json(lines: Sequence[MakerLine]) -> list[dict[str, Any]]:
    return [{"line": line.line, "text": line.text} for line in lines]
