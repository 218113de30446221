"""A show file as small named parts and a skeleton, and back, byte for byte.

- A part is the file's own bytes of one thing: one cue, one preset, one fixture …
- The skeleton is the file with each part replaced by its name between two NUL bytes, which a whole
  JSON document cannot hold. Joining puts the bytes back.
- Part names are safe on every file system, whatever keys a stranger's show holds: a key that is not
  a plain number is named by its hash.
- Nothing is decoded but the outline; a key given twice leaves the earlier value in the skeleton.
"""

import ctypes
import hashlib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import msgspec
from msgspec import Raw

from showvault.show.addressing import Kind, Thing

SECTIONS: dict[str, Kind] = {
    "curves": "curve",
    "fixture_types": "fixture_type",
    "patch": "fixture",
    "groups": "group",
    "effects": "effect",
    "macros": "macro",
    "submasters": "submaster",
    "playbacks": "playback",
}
"""The sections of a show that hold one kind of thing by number."""

_PLAIN_KEY = re.compile(r"[0-9]{1,9}(\.[0-9]{1,9})?")
_MARKER = re.compile(rb"\0([^\0]*)\0")


class _ListOutline(msgspec.Struct):
    cues: dict[str, Raw] = {}


class _Outline(msgspec.Struct):
    curves: dict[str, Raw] = {}
    fixture_types: dict[str, Raw] = {}
    patch: dict[str, Raw] = {}
    groups: dict[str, Raw] = {}
    presets: dict[str, dict[str, Raw]] = {}
    effects: dict[str, Raw] = {}
    macros: dict[str, Raw] = {}
    submasters: dict[str, Raw] = {}
    cue_lists: dict[str, _ListOutline] = {}
    playbacks: dict[str, Raw] = {}


_OUTLINE = msgspec.json.Decoder(_Outline)
_MEMBERS = msgspec.json.Decoder(dict[str, Raw])
_LIST = msgspec.json.Decoder(_ListOutline)


@dataclass(frozen=True)
class CutShow:
    """A show file cut up: ``parts`` maps part names to byte slices, in the order of the file."""

    skeleton: bytes
    parts: Mapping[str, bytes]
    names: Mapping[Thing, str]
    """Which part holds which thing."""


def cut_into_parts(data: bytes) -> CutShow | None:
    """Cut the bytes of a show file; None where they have no outline of a show to cut along.

    Bytes that can be cut are one whole JSON document in UTF-8.
    """
    if b"\0" in data or data[:3] == b"\xef\xbb\xbf":
        return None
    outline = _outline_of(data)
    if outline is None:
        return None
    start_of = _Addresses(data)
    found = sorted(
        (start_of(raw), len(memoryview(raw)), thing) for thing, raw in _things_of(outline)
    )
    parts: dict[str, bytes] = {}
    names: dict[Thing, str] = {}
    skeleton: list[bytes] = []
    end = 0
    for start, length, thing in found:
        name = part_name(thing)
        if name in parts:  # "a b", "1" and "a", "b 1" are presets of one name: the later one stays
            continue
        skeleton += (data[end:start], b"\0", name.encode(), b"\0")
        end = start + length
        parts[name] = data[start:end]
        names[thing] = name
    skeleton.append(data[end:])
    return CutShow(b"".join(skeleton), parts, names)


def join_parts(skeleton: bytes, parts: Mapping[str, bytes]) -> bytes:
    """Return the bytes that were cut. Raises KeyError where a part is missing."""
    pieces = skeleton.split(b"\0")
    pieces[1::2] = [parts[name.decode()] for name in pieces[1::2]]
    return b"".join(pieces)


def parts_named_in(skeleton: bytes) -> list[str]:
    """Return the part names of a skeleton, in the order of the file."""
    return [name.decode() for name in skeleton.split(b"\0")[1::2]]


def things_named_in(skeleton: bytes) -> dict[Thing, str]:
    """Return which part holds which thing, read from a skeleton alone."""
    outline = _outline_of(_MARKER.sub(rb'"\1"', skeleton)) or _Outline()
    named = set(parts_named_in(skeleton))
    return {
        thing: name
        for thing, raw in _things_of(outline)
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


def _outline_of(data: bytes) -> _Outline | None:
    try:
        return _OUTLINE.decode(data)
    except (msgspec.ValidationError, RecursionError, UnicodeDecodeError):
        return _outline_as_far_as_it_goes(data)
    except msgspec.DecodeError:
        return None


def _outline_as_far_as_it_goes(data: bytes) -> _Outline | None:
    """Leave out each section, preset class and cue list that is no object."""
    sections = _members(data)
    if sections is None:
        return None
    outline = _Outline()
    for name in SECTIONS:
        setattr(outline, name, _members(sections.get(name)) or {})
    for group, raw in (_members(sections.get("presets")) or {}).items():
        outline.presets[group] = _members(raw) or {}
    for number, raw in (_members(sections.get("cue_lists")) or {}).items():
        try:
            outline.cue_lists[number] = _LIST.decode(raw)
        except (msgspec.DecodeError, RecursionError, UnicodeDecodeError):
            continue
    return outline


def _members(data: bytes | Raw | None) -> dict[str, Raw] | None:
    if data is None:
        return None
    try:
        return _MEMBERS.decode(data)
    except (msgspec.DecodeError, RecursionError, UnicodeDecodeError):
        return None


def _things_of(outline: _Outline) -> Iterator[tuple[Thing, Raw]]:
    for section, kind in SECTIONS.items():
        for key, raw in getattr(outline, section).items():
            yield Thing(kind, key), raw
    for group, presets in outline.presets.items():
        for key, raw in presets.items():
            yield Thing("preset", f"{group} {key}"), raw
    for number, cue_list in outline.cue_lists.items():
        for key, raw in cue_list.cues.items():
            yield Thing("cue", key, number), raw


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


class _PyBuffer(ctypes.Structure):
    _fields_ = (
        ("buf", ctypes.c_void_p),
        ("obj", ctypes.py_object),
        ("len", ctypes.c_ssize_t),
        ("itemsize", ctypes.c_ssize_t),
        ("readonly", ctypes.c_int),
        ("ndim", ctypes.c_int),
        ("format", ctypes.c_char_p),
        ("shape", ctypes.c_void_p),
        ("strides", ctypes.c_void_p),
        ("suboffsets", ctypes.c_void_p),
        ("internal", ctypes.c_void_p),
    )


class _Addresses:
    """Tells where in the decoded bytes a Raw lies.

    msgspec hands out views of the bytes but not their offsets, and searching for the bytes may
    find an earlier twin; the buffer protocol gives the address itself.
    """

    def __init__(self, data: bytes) -> None:
        self._data = data
        self._view = _PyBuffer()
        self._base = self._address(data)

    def __call__(self, raw: Raw) -> int:
        start = self._address(raw) - self._base
        if not 0 <= start <= len(self._data):
            raise RuntimeError("a decoded slice lies outside the bytes it was decoded from")
        return start

    def _address(self, owner: object) -> int:
        view = self._view
        ctypes.pythonapi.PyObject_GetBuffer(ctypes.py_object(owner), ctypes.byref(view), 0)
        try:
            return int(view.buf or 0)
        finally:
            ctypes.pythonapi.PyBuffer_Release(ctypes.byref(view))
