"""Cutting a show that is much like one that was cut before: equal bytes are passed over, not read.

The old skeleton is laid along the new file. Where each of its texts is found again and each part
is the same, or else one JSON value of its own, the new file has the same outline: JSON values end
where they end, so nothing else can stand there. Anything else is cut anew.
"""

from dataclasses import replace

import msgspec

from showvault.show.cutting import CutShow, cut_into_parts

TRIES = 16
"""How many ends are tried for a changed part before the file is cut anew."""

_VALUE = msgspec.json.Decoder(msgspec.Raw)
_SPACE = b" \t\r\n"


def cut_like(data: bytes, last: CutShow | None) -> CutShow | None:
    """Cut a file like ``last`` if it can be, else anew; None where it cannot be cut at all.

    The result is the one that `cut_into_parts` gives; equal parts are those of ``last`` themselves.
    """
    again = None if last is None else _lay_along(data, last)
    return again or cut_into_parts(data)


def _lay_along(data: bytes, last: CutShow) -> CutShow | None:
    pieces = last.skeleton.split(b"\0")
    parts: dict[str, bytes] = {}
    end = 0
    for index in range(0, len(pieces) - 1, 2):
        start = end + len(pieces[index])
        if not data.startswith(pieces[index], end):
            return None
        name = pieces[index + 1].decode()
        part = last.parts[name]
        following = pieces[index + 2]
        if not (data.startswith(part, start) and data.startswith(following, start + len(part))):
            changed = _value_at(data, start, following, is_last=index + 3 >= len(pieces))
            if changed is None:
                return None
            part = changed
        parts[name] = part
        end = start + len(part)
    if data[end:] != pieces[-1]:
        return None
    return replace(last, parts=parts)


def _value_at(data: bytes, start: int, following: bytes, *, is_last: bool) -> bytes | None:
    """Return the JSON value that begins at ``start`` and that a known text follows."""
    end = start
    for _ in range(TRIES):
        end = len(data) - len(following) if is_last else data.find(following, end + 1)
        if end <= start:
            return None
        value = data[start:end]
        if value[-1] not in _SPACE and value[0] not in _SPACE and _is_one_value(value):
            return value
        if is_last:
            return None
    return None


def _is_one_value(value: bytes) -> bool:
    try:
        _VALUE.decode(value)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return False
    return b"\0" not in value
