"""Text for a screen: nothing from a file can move the cursor or turn the reading round."""

import re
import textwrap
import unicodedata
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

_UNSAFE = re.compile(
    "[\x00-\x1f\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff\ufff9-\ufffb\ud800-\udfff]"
)


def safe(text: str) -> str:
    """Return text with control, direction and invisible characters spelled out: ESC is \\x1b.

    Source of the rule: CWE-150; the direction controls are those of UAX #9.
    """
    return _UNSAFE.sub(_spell, text)


def safe_lines(text: str) -> str:
    """Return text made safe line by line; its own line feeds stay."""
    return "\n".join(safe(line) for line in text.split("\n"))


def say_age(since: timedelta) -> str:
    """Say a length of time roughly: "just now", "43 min", "3 h 30 min", "2 days"."""
    seconds = int(since.total_seconds())
    if seconds < 5:
        return "just now"
    if seconds < 60:
        return f"{seconds} s"
    minutes = seconds // 60
    if minutes < 60:
        return f"{minutes} min"
    hours, minutes = divmod(minutes, 60)
    if hours < 48:
        return f"{hours} h {minutes} min" if minutes else f"{hours} h"
    return f"{hours // 24} days"


def say_ago(moment: datetime, now: datetime) -> str:
    """Say how long ago a moment was; a moment to come is named, since a clock must be wrong."""
    since = now - moment
    if since < timedelta(seconds=-60):
        return f"at {say_moment(moment, now)} (the clock was ahead)"
    age = say_age(max(since, timedelta()))
    return age if age == "just now" else f"{age} ago"


def say_moment(moment: datetime, now: datetime) -> str:
    """Say a moment in its own local time: the time alone for today, else the day with it."""
    same_day = moment.astimezone(now.tzinfo).date() == now.date()
    return moment.strftime("%H:%M:%S" if same_day else "%a %Y-%m-%d %H:%M")


def say_size(size: int) -> str:
    """Say a number of bytes: "812 B", "64.2 kB", "7.1 MB" (powers of ten)."""
    if size < 1000:
        return f"{size} B"
    number, unit = size / 1000, "kB"
    for larger in ("MB", "GB", "TB"):
        if number < 1000:
            break
        number, unit = number / 1000, larger
    return f"{number:.1f} {unit}"


def clip(text: str, width: int) -> str:
    """Cut text to a width in columns, at a word if it can, with an ellipsis at the end."""
    if width_of(text) <= width:
        return text
    while text and width_of(text) > width - 1:
        text = text[:-1]
    at_word = text.rfind(" ") + 1
    return (text[:at_word] if at_word > width // 2 else text) + "…"


def fold_line(line: str, width: int, deeper: int = 4) -> str:
    """Break a line that is too long for the screen between words, so much further in.

    A width of 0 breaks none.
    """
    if not width or width_of(line) <= width:
        return line
    indent = " " * (len(line) - len(line.lstrip()))
    return "\n".join(
        textwrap.wrap(
            line.strip(),
            width,
            initial_indent=indent,
            subsequent_indent=indent + " " * deeper,
            break_long_words=False,
            break_on_hyphens=False,
        )
    )


def rows_of(text: str, width: int) -> int:
    """Return how many rows of a terminal of so many columns one line of text takes."""
    return max(1, -(-width_of(text) // max(width, 1)))


def width_of(text: str) -> int:
    """Return how many columns the text takes on a terminal."""
    return sum(
        0 if unicodedata.combining(char) else 2 if unicodedata.east_asian_width(char) in "WF" else 1
        for char in text
    )


def table(header: Sequence[str], rows: Iterable[Sequence[str]], width: int) -> str:
    """Lay out rows in columns; the last column takes what is left of the width and is clipped."""
    cells = [list(header), *([safe(cell) for cell in row] for row in rows)]
    widths = [max(width_of(row[column]) for row in cells) for column in range(len(header) - 1)]
    used = sum(widths) + 2 * len(widths)
    last = max(20, width - used)
    lines = []
    for row in cells:
        fixed = [cell + " " * (w - width_of(cell)) for cell, w in zip(row, widths, strict=False)]
        lines.append("  ".join([*fixed, clip(row[-1], last)]).rstrip())
    return "\n".join(lines)


def _spell(match: re.Match[str]) -> str:
    code = ord(match.group())
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"
