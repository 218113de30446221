"""The form of a difference is git's own; `test_storing` lets git read what is written so."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvault.vault.differing import (
    DEFAULT_COPY,
    LONGEST_COPY,
    Difference,
    apply_difference,
    encode_difference,
)

MOST = 100_000_000


def replaced(before: bytes, difference: Difference) -> bytes:
    pieces, at = [], 0
    for place in difference.places:
        pieces += [before[at:place], difference.text]
        at = place + difference.length
    return b"".join([*pieces, before[at:]])


@given(
    apart=st.lists(st.binary(max_size=300).map(lambda piece: piece.replace(b"?", b"!"))),
    text=st.binary(max_size=300),
)
def test_what_was_told_is_what_is_read(apart: list[bytes], text: bytes) -> None:
    before = b"??".join(apart)
    places = [found.start() for found in re.finditer(rb"\?\?", before)]
    difference = Difference(places, 2, text)
    after = replaced(before, difference)
    told = encode_difference(difference, len(before), len(after))
    assert apply_difference(before, told, MOST) == after
    assert apply_difference(before, told, len(after)) == after
    assert after == b"" or apply_difference(before, told, len(after) - 1) is None
    assert apply_difference(before + b"x", told, MOST) is None


@pytest.mark.parametrize("size", [LONGEST_COPY, LONGEST_COPY + 1, 2 * LONGEST_COPY + 5])
def test_a_long_copy_is_told_in_pieces(size: int) -> None:
    before = b"<" + bytes(range(251)) * (size // 251) + b"x" * (size % 251) + b">"
    told = encode_difference(Difference([0], 1, b"["), len(before), len(before))
    assert apply_difference(before, told, MOST) == b"[" + before[1:]


def test_the_example_of_a_short_copy_is_read() -> None:
    """The bits of the first byte tell which bytes of offset and size follow (gitformat-pack)."""
    told = bytes([10, 5, 0x91, 2, 3, 2]) + b"!!"  # three bytes from the second on, then two new
    assert apply_difference(b"0123456789", told, MOST) == b"234!!"


def test_a_copy_without_a_size_is_of_the_one_that_git_names() -> None:
    before = bytes(DEFAULT_COPY)
    told = bytes([0x80, 0x80, 4]) * 2 + bytes([0x80])  # both sizes are 65,536
    assert apply_difference(before, told, MOST) == before


@pytest.mark.parametrize(
    "told",
    [
        b"",
        b"\x0a",
        b"\x0a\x05",  # nothing is done, and five bytes are due
        b"\x0a\x05\x00",  # an order that git keeps free
        b"\x0a\x05\x05abc",  # it ends within what it puts in
        b"\x0a\x05\x91\x08\x05",  # it copies from behind the end
        b"\x0a\x05\x91\x00\x06",  # one byte too many
        b"\x0a\x05\x91\x00\x04",  # one too few
        b"\x0a\x05\xff\x00",  # an order that is cut short
        b"\xff" * 40,  # sizes without an end
        b"\x0a" + b"\xff" * 9 + b"\x7f" + b"\x91\x00\x04",  # more than anybody takes
    ],
)
def test_what_is_no_difference_gives_nothing(told: bytes) -> None:
    assert apply_difference(b"0123456789", told, MOST) is None


def test_a_strangers_difference_does_not_grow_without_a_limit() -> None:
    before = bytes(1000)
    told = encode_difference(Difference([], 0, b""), 1000, 1000)
    head, copy = told[:4], told[4:]
    assert apply_difference(before, head + copy * 1_000_000, MOST) is None
