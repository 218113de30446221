"""Valid samples, damaged: at bytes, at fields, at the members of an archive.

A reader sees little of random bytes; what comes near to being right goes deep.
"""

import copy
import io
import json
import re
import zipfile
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn, SearchStrategy

NUMBERS = (
    b"0", b"-1", b"1", b"65536", b"513", b"1e999", b"-0", b"0.0000001", b"4294967296", b"NaN",
    b"99999999999999999999", b"1/1", b"1.5.2", b"\xd9\xa3", b"0x10", b"1_0", b"1" * 400,
)  # fmt: skip
WORDS = (
    b"\0", b"\n", b"\r\n", b"\xff\xfe", b"\xef\xbb\xbf", b"\xed\xa0\x80", b'"', b"\\", b"\\ud800",
    b"{", b"}", b"[", b"]", b"<", b">", b"&#0;", b"&x;", b"]]>", b"<!DOCTYPE a>", b"../", b"..\\",
    b"/", b":", b";", b",", b"\t", b"=1+1", b"\x1b[2J", b"\xe2\x80\xae", b"null", b"true", b"[[[[",
    b"PK\x05\x06", b"\x1f\x8b",
)  # fmt: skip
"""What formats are made of, and what they choke on."""

NUMBER = re.compile(rb"\d+")


@st.composite
def damaged(draw: DrawFn, samples: Sequence[bytes], words: Sequence[bytes] = ()) -> bytes:
    """One of some samples with up to six edits of its bytes."""
    data = draw(st.sampled_from(samples))
    for _ in range(draw(st.integers(1, 6))):
        data = draw(_edited(data, samples, (*WORDS, *words)))
    return data


def _edited(data: bytes, samples: Sequence[bytes], words: Sequence[bytes]) -> SearchStrategy[bytes]:
    size = len(data)
    place = st.integers(0, size)
    spans = st.tuples(place, st.one_of(st.integers(0, 8), st.integers(0, 400)))
    bits = st.tuples(st.integers(0, max(0, size - 1)), st.integers(0, 7))
    return st.one_of(
        bits.map(lambda at: _flip(data, *at)),
        spans.map(lambda span: data[: span[0]] + data[sum(span) :]),
        spans.map(lambda span: data[: sum(span)] + data[span[0] :]),
        place.map(lambda at: data[:at]),
        st.tuples(place, st.one_of(st.sampled_from(words), st.binary(max_size=4))).map(
            lambda new: data[: new[0]] + new[1] + data[new[0] :]
        ),
        st.tuples(st.integers(0, 400), st.sampled_from(NUMBERS)).map(
            lambda new: _renumber(data, *new)
        ),
        st.tuples(place, st.sampled_from(samples), spans).map(
            lambda new: data[: new[0]] + new[1][new[2][0] : sum(new[2])] + data[new[0] :]
        ),
    )


def _flip(data: bytes, at: int, bit: int) -> bytes:
    return data[:at] + bytes([data[at] ^ 1 << bit]) + data[at + 1 :] if data else b""


def _renumber(data: bytes, which: int, new: bytes) -> bytes:
    found = list(NUMBER.finditer(data))
    if not found:
        return data
    number = found[which % len(found)]
    return data[: number.start()] + new + data[number.end() :]


anything: SearchStrategy[Any] = st.recursive(
    st.one_of(
        st.none(),
        st.booleans(),
        st.integers(),
        st.floats(),
        st.text(st.characters(exclude_categories=[]), max_size=8),
        st.sampled_from(["1", "1.1", "101", "Color 1.3", "Dimmer", "go", "16 bit", -1, 0, 1e300]),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(st.sampled_from(["1", "level", "preset", "extra", "101", ""]), inner),
    ),
    max_leaves=6,
)
"""Any JSON value, and some that JSON does not know."""


@st.composite
def changed_fields(draw: DrawFn, samples: Sequence[Any]) -> Any:
    """One of some trees of JSON with up to four of its values or keys changed."""
    tree = copy.deepcopy(draw(st.sampled_from(samples)))
    for _ in range(draw(st.integers(1, 4))):
        holders = list(_holders(tree))
        if not holders:
            break
        holder = draw(st.sampled_from(range(len(holders))).map(holders.__getitem__))
        keys = list(holder) if isinstance(holder, dict) else list(range(len(holder)))
        key = draw(st.sampled_from(keys))
        match draw(st.integers(0, 4)):
            case 0:
                del holder[key]
            case 1 if isinstance(holder, dict):
                holder[draw(st.text(max_size=5) | st.sampled_from(["0", "01", "1.10"]))] = holder[
                    key
                ]
            case 2:
                other = draw(st.sampled_from(range(len(holders))).map(holders.__getitem__))
                holder[key] = copy.deepcopy(other)
            case _:
                holder[key] = draw(anything)
    return tree


def _holders(value: Any) -> Any:
    if isinstance(value, dict | list):
        if value:
            yield value
        for inner in value.values() if isinstance(value, dict) else value:
            yield from _holders(inner)


def as_json(tree: Any) -> bytes:
    """JSON as Python's own library writes it: NaN and lone surrogates where there are such."""
    return json.dumps(tree, ensure_ascii=False).encode("utf-8", "surrogatepass")


@st.composite
def repacked(
    draw: DrawFn,
    samples: Sequence[bytes],
    change: Callable[[str, bytes], SearchStrategy[bytes]],
) -> bytes:
    """An archive of which one member, or its name, was changed, with right sums again."""
    entries = members_of(draw(st.sampled_from(samples)))
    name = draw(st.sampled_from(sorted(entries)))
    match draw(st.integers(0, 9)):
        case 0:
            entries[draw(st.sampled_from(["../x", "/x", name.upper(), "", "a\\b", "x/" * 50]))] = (
                entries.pop(name)
            )
        case 1:
            del entries[name]
        case 2:
            entries[name] = draw(st.sampled_from([b"", b"\0" * 70_000, pack(entries)]))
        case _:
            entries[name] = draw(change(name, entries[name]))
    return pack(entries)


def members_of(archive: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(archive)) as opened:
        return {name: opened.read(name) for name in opened.namelist()}


def pack(entries: Mapping[str, bytes]) -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in entries.items():
            archive.writestr(zipfile.ZipInfo(name or "?", (1980, 1, 1, 0, 0, 0)), data)
    return target.getvalue()
