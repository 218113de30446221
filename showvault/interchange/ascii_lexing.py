"""ASCII cue data as lines, keywords and values, by the lexical rules of ascii_rules."""

from decimal import Decimal

from showvault.interchange.ascii_rules import DELIMITERS, TIME, WHOLE_NUMBER
from showvault.interchange.ascii_values import level_steps

_AS_BLANKS = str.maketrans(dict.fromkeys(DELIMITERS, " "))


def lines_of(data: bytes) -> list[str]:
    """Return the lines of a file, ended by CR, LF or both; no byte stops the reading."""
    if data.startswith(b"\xef\xbb\xbf"):
        data = data[3:]
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    lines = text.split("\n")
    if lines[-1] == "":
        lines.pop()
    return lines


def split_keyword(line: str) -> tuple[str, str]:
    """Return the keyword of a line in upper case, and the rest of the line without outer blanks."""
    start = line.translate(_AS_BLANKS).split(None, 1)
    if not start:
        return "", ""
    word = start[0]
    after = line.index(word) + len(word)
    return word.upper(), line[after:].strip()


class Pairs(dict[str, tuple[str, str]]):
    """Channel and level of each text such as "1@50" that was met; KeyError for any other text."""

    def __missing__(self, text: str) -> tuple[str, str]:
        values = text.translate(_AS_BLANKS).split()
        if len(values) != 2:
            raise KeyError(text)
        channel = channel_of(values[0])
        if channel is None or level_steps(values[1]) is None:
            raise KeyError(text)
        self[text] = channel, values[1]
        return self[text]


def values_of(text: str) -> list[str]:
    """Return the values of a text, parted by runs of delimiters."""
    return text.translate(_AS_BLANKS).split()


def channel_of(text: str) -> str | None:
    """Return a channel or dimmer number without leading zeros; None for 0 and for other texts."""
    return (text.lstrip("0") or None) if WHOLE_NUMBER.fullmatch(text) and text.isascii() else None


def seconds_of(text: str) -> Decimal | None:
    """Return a time in seconds; None for a text that is none, 1:75 among them."""
    match = TIME.fullmatch(text)
    minutes, seconds = match.groups() if match else (None, "")
    if not seconds or (minutes is not None and Decimal(seconds) >= 60):
        return None
    return int(minutes or 0) * 60 + Decimal(seconds)
