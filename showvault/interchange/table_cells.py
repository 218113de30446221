"""The cells of a table: numbers as spreadsheets write them, and texts that never become formulas.

A text that begins like a formula (=, +, -, @, tab or carriage return; common practice, no
standard) is written behind an apostrophe, and so is one that begins with an apostrophe; reading
takes the one apostrophe off again.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

_LIVE = ("=", "+", "-", "@", "\t", "\r", "'")
_NUMBER = re.compile(r"[+-]?\d{1,12}(?:[.,]\d{1,12})?", re.ASCII)
_TIME = re.compile(r"(?:(\d{1,6}):)?(\d{1,7}(?:[.,]\d{1,3})?)\s*s?", re.ASCII)


@dataclass(frozen=True)
class Grid:
    """A table of texts; rows may be shorter than the header."""

    name: str
    """The name of the sheet, or nothing."""
    rows: Sequence[Sequence[str]]


def guard_text(text: str) -> str:
    """Return a text as a cell that no spreadsheet takes for a formula."""
    return "'" + text if text.startswith(_LIVE) else text


def bare_text(cell: str) -> str:
    """Return the text of a cell, without the apostrophe that guarded it."""
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(_LIVE) else cell


def parse_number(text: str) -> int | Decimal | None:
    """Return a number with a decimal point or comma; None for any other text."""
    text = text.strip()
    if not _NUMBER.fullmatch(text):
        return None
    number = Decimal(text.replace(",", "."))
    return int(number) if number == int(number) else number.normalize()


def parse_seconds(text: str) -> int | Decimal | None:
    """Return a time in seconds: "3.5", "3,5 s", "1:10"; None for any other text."""
    match = _TIME.fullmatch(text.strip())
    if match is None:
        return None
    seconds = int(match.group(1) or 0) * 60 + Decimal(match.group(2).replace(",", "."))
    return int(seconds) if seconds == int(seconds) else seconds.normalize()


def spell_number(number: int | float | Decimal) -> str:
    """Return a number as plain decimal text."""
    text = f"{Decimal(str(number)):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
