"""Cutting a show that is much like one that was cut before: equal bytes are passed over, not read.

The old file is laid along the new one. Where each text between its parts is found again and each
part is the same, or else one JSON value of its own, the new file has the same outline: JSON values
end where they end, so nothing else can stand there. Anything else is cut anew.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple, TypeAlias

import msgspec

from showvault.show.cutting import CutShow, cut_into_parts

TRIES = 16
"""How many ends are tried for a changed part before the file is cut anew."""

_VALUE = msgspec.json.Decoder(msgspec.Raw)
_SPACE = b" \t\r\n"

Bytes: TypeAlias = bytes | memoryview


class Found(NamedTuple):
    """Where a part stands in the new file, and whether its bytes are the old ones."""

    start: int
    end: int
    same: bool


def cut_like(data: bytes, last: CutShow | None) -> CutShow | None:
    """Cut a file like ``last`` if it can be, else anew; None where it cannot be cut at all.

    The result is the one that `cut_into_parts` gives; equal parts are those of ``last`` themselves.
    """
    again = None if last is None else _cut_along(data, last)
    return again or cut_into_parts(data)


def _cut_along(data: bytes, last: CutShow) -> CutShow | None:
    pieces = last.skeleton.split(b"\0")
    names = [name.decode() for name in pieces[1::2]]
    found = lay_along(data, pieces[::2], [last.parts[name] for name in names])
    if found is None:
        return None
    parts = {
        name: last.parts[name] if same else data[start:end]
        for name, (start, end, same) in zip(names, found, strict=True)
    }
    return replace(last, parts=parts)


def lay_along(data: bytes, texts: Sequence[Bytes], parts: Sequence[Bytes]) -> list[Found] | None:
    """Return where the parts of an older file stand in this one; None where it is another one.

    ``texts`` stand before each of the old parts and after the last one.
    """
    if not data.startswith(texts[0]):
        return None
    found: list[Found] = []
    end = 0
    last = len(parts) - 1
    for index, part in enumerate(parts):
        start = end + len(texts[index])
        following = texts[index + 1]
        end = start + len(part)
        same = data.startswith(part, start) and data.startswith(following, end)
        if not same:
            changed = _end_of_value(data, start, following, is_last=index == last)
            if changed is None:
                return None
            end = changed
        found.append(Found(start, end, same))
    return found if len(data) == end + len(texts[-1]) else None


def _end_of_value(data: bytes, start: int, following: Bytes, *, is_last: bool) -> int | None:
    """Return where the JSON value ends that begins at ``start`` and that a known text follows."""
    end = start
    for _ in range(TRIES):
        end = len(data) - len(following) if is_last else data.find(following, end + 1)
        if end <= start or not data.startswith(following, end):
            return None
        value = data[start:end]
        if value[-1] not in _SPACE and value[0] not in _SPACE and _is_one_value(value):
            return end
        if is_last:
            return None
    return None


def _is_one_value(value: bytes) -> bool:
    try:
        _VALUE.decode(value)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return False
    return b"\0" not in value
