"""ASCII cue data from values to bytes, in the spelling that any reader can be expected to take.

Upper-case keywords, CR LF, levels wrapped before column 80, ENDDATA at the end. What stands in the
values must fit the rules already: no text is cut and no level changed here.
"""

from collections.abc import Iterable, Iterator
from decimal import Decimal

from showvault.interchange.ascii_rules import IDENT, LINE_LIMIT
from showvault.interchange.ascii_values import AsciiData, AsciiItem, AsciiPart, AsciiTime

_LONGEST_PLAIN_SECONDS = 60


def render_ascii(data: AsciiData) -> bytes:
    """Return the bytes of a file; reading them gives the same values back."""
    return ("\r\n".join(_lines(data)) + "\r\n").encode("ascii")


def spell_seconds(seconds: Decimal) -> str:
    """Return a time as s, s.t or m:ss[.t]: 3.5 is "3.5", 70 is "1:10"."""
    if seconds < _LONGEST_PLAIN_SECONDS:
        return _spell(seconds)
    minutes, rest = divmod(seconds, 60)
    whole, point, places = _spell(rest).partition(".")
    return f"{int(minutes)}:{whole.zfill(2)}{point}{places}"


def _lines(data: AsciiData) -> Iterator[str]:
    yield f"IDENT {data.ident or IDENT}"
    if data.manufacturer:
        yield f"MANUFACTURER {data.manufacturer}"
    if data.console:
        yield f"CONSOLE {data.console}"
    if data.clear:
        yield f"CLEAR {' '.join(data.clear)}"
    yield from (f"SET {' '.join(words)}" for words in data.set)
    yield from (line.text for line in data.verbatim)
    triples = (f"{entry.channel}<{entry.dimmer}@{entry.level}" for entry in data.patch)
    yield from _wrapped("PATCH 1", triples)
    for keyword, items in (("CUE", data.cues), ("GROUP", data.groups), ("SUB", data.subs)):
        for item in items:
            yield ""
            yield from _item(keyword, item)
    yield ""
    yield "ENDDATA"


def _item(keyword: str, item: AsciiItem) -> Iterator[str]:
    yield (
        f"{keyword} {item.number}" if item.page is None else f"{keyword} {item.number} {item.page}"
    )
    yield from _part(item)
    if item.followon is not None:
        yield f"FOLLOWON {spell_seconds(item.followon)}"
    if item.link is not None:
        yield f"LINK {item.link}"
    yield from (line.text for line in item.verbatim)
    for number, part in item.parts.items():
        yield f"PART {number}"
        yield from _part(part)


def _part(part: AsciiPart) -> Iterator[str]:
    if part.text is not None:
        yield f"TEXT {part.text}".rstrip()
    if part.up is not None:
        yield f"UP {_times(part.up)}"
    if part.down is not None:
        yield f"DOWN {_times(part.down)}"
    yield from _wrapped("CHAN", (f"{channel}@{raw}" for channel, raw in part.levels.items()))


def _times(time: AsciiTime) -> str:
    if time.wait is None:
        return spell_seconds(time.time)
    return f"{spell_seconds(time.time)} {spell_seconds(time.wait)}"


def _wrapped(start: str, values: Iterable[str]) -> Iterator[str]:
    line = start
    for value in values:
        if len(line) + 1 + len(value) > LINE_LIMIT:
            yield line
            line = start
        line += " " + value
    if line != start:
        yield line


def _spell(number: Decimal) -> str:
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
