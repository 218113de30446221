"""A blob told by what differs from another one: git's own form of it (git, gitformat-pack).

A difference is the sizes before and after, then what to do in turn: copy a piece of the bytes
before, or put in bytes that stand here.
"""

from collections.abc import Sequence
from functools import lru_cache
from typing import Final, NamedTuple

SIZE_BITS: Final = 7
LONGEST_COPY: Final = (1 << 24) - 1
LONGEST_INSERT: Final = 127

COPY = b"\xff"
"""A copy whose offset (four bytes) and size (three) are all written."""

DEFAULT_COPY: Final = 1 << 16
"""The size of a copy that gives none."""


class Difference(NamedTuple):
    """One text in the place of another, wherever that stood."""

    places: Sequence[int]
    """Offsets in the bytes before, ascending and apart by ``length`` at least."""
    length: int
    """Bytes of the text that is gone."""
    text: bytes


def encode_difference(difference: Difference, before: int, after: int) -> bytes:
    """Return the difference for bytes whose sizes are ``before`` and ``after``."""
    pieces = [encode_size(before), encode_size(after)]
    insert = _inserts(difference.text)
    at = 0
    for place in difference.places:
        pieces += (_copy(at, place - at), insert)
        at = place + difference.length
    pieces.append(_copy(at, before - at))
    return b"".join(pieces)


def apply_difference(before: bytes, difference: bytes, most: int) -> bytes | None:
    """Return the bytes after; None where it is no difference to these, or gives over ``most``."""
    size, at = read_size(difference, 0)
    due, at = read_size(difference, at)
    if size != len(before) or not 0 <= due <= most:
        return None
    pieces: list[bytes] = []
    left = due
    while at < len(difference) and left >= 0:
        told = difference[at]
        if told == 0:  # git keeps it free
            return None
        at += 1
        if told < 0x80:
            piece = difference[at : at + told]
            expected = told
            at += told
        else:
            offset, expected, at = _read_copy(difference, at, told)
            piece = before[offset : offset + expected]
        if len(piece) != expected:
            return None
        pieces.append(piece)
        left -= expected
    return b"".join(pieces) if left == 0 else None


def _read_copy(difference: bytes, at: int, told: int) -> tuple[int, int, int]:
    """Return offset, size, and where the next thing to do is told."""
    if told == COPY[0]:
        number = int.from_bytes(difference[at : at + 7], "little")
        return number & 0xFFFFFFFF, number >> 32 or DEFAULT_COPY, at + 7
    number = 0
    for bit in range(7):
        if told >> bit & 1:
            number |= int.from_bytes(difference[at : at + 1], "little") << 8 * bit
            at += 1
    return number & 0xFFFFFFFF, number >> 32 or DEFAULT_COPY, at


def _copy(at: int, size: int) -> bytes:
    if size <= LONGEST_COPY:
        return COPY + (size << 32 | at).to_bytes(7, "little") if size else b""
    return _copy(at, LONGEST_COPY) + _copy(at + LONGEST_COPY, size - LONGEST_COPY)


@lru_cache(maxsize=16)  # the same text stands in one part after the other
def _inserts(text: bytes) -> bytes:
    pieces = [text[at : at + LONGEST_INSERT] for at in range(0, len(text), LONGEST_INSERT)]
    return b"".join(bytes([len(piece)]) + piece for piece in pieces)


@lru_cache(maxsize=4096)  # parts that change as they do here keep their sizes
def encode_size(number: int) -> bytes:
    """Return a size as git writes it: seven bits a byte, the lowest first."""
    written = bytearray()
    while number >= 0x80:
        written.append(number & 0x7F | 0x80)
        number >>= SIZE_BITS
    written.append(number)
    return bytes(written)


def read_size(data: bytes, at: int) -> tuple[int, int]:
    """Return the size that begins there, and where it ends; -1 where it has no end."""
    size = shift = 0
    for end in range(at, min(at + 10, len(data))):
        size |= (data[end] & 0x7F) << shift
        shift += SIZE_BITS
        if not data[end] & 0x80:
            return size, end + 1
    return -1, len(data)
