"""A show file as small named parts and a skeleton, and back, byte for byte.

- A part is the file's own bytes of one thing: one cue, one preset, one fixture …
- The skeleton is the file with each part replaced by its name between two NUL bytes, which a whole
  JSON document cannot hold. Joining puts the bytes back.
- Part names are safe on every file system, whatever keys a stranger's show holds: a key that is not
  a plain number is named by its hash.
- Nothing is decoded (see outlines); a key given twice leaves the earlier value in the skeleton.
"""

import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from showvault.show.addressing import Thing
from showvault.show.outlines import Outline, find_spans, outline_of, things_of

_PLAIN_KEY = re.compile(r"[0-9]{1,9}(\.[0-9]{1,9})?")
_MARKER = re.compile(rb"\0([^\0]*)\0")


@dataclass(frozen=True)
class CutShow:
    """A show file cut up: ``parts`` maps part names to byte slices, in the order of the file."""

    skeleton: bytes
    parts: Mapping[str, bytes]
    names: Mapping[Thing, str]
    """Which part holds which thing."""


def cut_into_parts(
    data: bytes, named: Mapping[Thing, str] = MappingProxyType({})
) -> CutShow | None:
    """Cut the bytes of a show file; None where they have no outline of a show to cut along.

    Bytes that can be cut are one whole JSON document in UTF-8. What the parts of some things are
    called may be known from an earlier cut.
    """
    spans = find_spans(data)
    if spans is None:
        return None
    parts: dict[str, bytes] = {}
    names: dict[Thing, str] = {}
    skeleton: list[bytes] = []
    last = 0
    for start, end, thing in spans:
        name = names[thing] = named.get(thing) or part_name(thing)
        skeleton += (data[last:start], b"\0", name.encode(), b"\0")
        parts[name] = data[start:end]
        last = end
    skeleton.append(data[last:])
    return CutShow(b"".join(skeleton), parts, names)


def join_parts(skeleton: bytes, parts: Mapping[str, bytes]) -> bytes:
    """Return the bytes that were cut. Raises KeyError where a part is missing."""
    return b"".join(pieces_of(skeleton, parts))


def pieces_of(skeleton: bytes, parts: Mapping[str, bytes]) -> list[bytes]:
    """Return the bytes that were cut, in pieces. Raises KeyError where a part is missing."""
    pieces = skeleton.split(b"\0")
    pieces[1::2] = [parts[name.decode()] for name in pieces[1::2]]
    return pieces


def parts_named_in(skeleton: bytes) -> list[str]:
    """Return the part names of a skeleton, in the order of the file."""
    return [name.decode() for name in skeleton.split(b"\0")[1::2]]


def things_named_in(skeleton: bytes) -> dict[Thing, str]:
    """Return which part holds which thing, read from a skeleton alone."""
    outline = outline_of(_MARKER.sub(rb'"\1"', skeleton)) or Outline()
    named = set(parts_named_in(skeleton))
    return {
        thing: name
        for thing, raw in things_of(outline)
        if (name := bytes(memoryview(raw))[1:-1].decode()) in named
    }


def skeleton_as_json(skeleton: bytes) -> bytes:
    """Return what is left of a show without its parts: JSON, each part a ``{}``."""
    return _MARKER.sub(b"{}", skeleton)


def part_name(thing: Thing) -> str:
    """Return the name of a thing's part: a path of lower-case ASCII, about 16 to a folder."""
    match thing.kind:
        case "cue":
            neighbours = _bucket(thing.id.partition(".")[0])
            return f"cue_lists/{_safe(thing.list)}/{neighbours}/cue-{_safe(thing.id)}"
        case "preset":
            group, _, place = thing.id.partition(" ")
            return f"presets/{_safe_word(group)}/{_bucket(place)}/preset-{_safe(place)}"
        case kind:
            return f"{kind}s/{_bucket(thing.id)}/{kind}-{_safe(thing.id)}"


def _safe(key: str) -> str:
    if _PLAIN_KEY.fullmatch(key):
        return key
    return "x" + hashlib.sha256(key.encode("utf-8", "surrogatepass")).hexdigest()[:40]


def _safe_word(word: str) -> str:
    return word.lower() if re.fullmatch("[A-Z][a-z]{1,20}", word) else _safe(word)


def _bucket(key: str) -> str:
    """Return a folder of about 16 neighbours; a page of presets is a folder of its own."""
    if not _PLAIN_KEY.fullmatch(key):
        return "x" + _safe(key)[1:2]
    first, _, rest = key.partition(".")
    return f"{first}.{int(rest) // 16}" if rest else f"{int(first) // 16}"
