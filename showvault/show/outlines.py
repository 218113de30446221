"""Where the things of a show file stand in its bytes, found without decoding any of them.

- Nothing is decoded but the outline. Bytes that have one are one whole JSON document in UTF-8.
- A section, a class of presets or a cue list that is no object has no things.
- A key that is given twice means the later value, as it does to any reader.
"""

import ctypes
from collections.abc import Iterator
from typing import NamedTuple

import msgspec
from msgspec import Raw

from showvault.show.addressing import Kind, Thing
from showvault.show.trees import members_of

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


class Span(NamedTuple):
    """Where a thing stands: its first byte, and the one after its last."""

    start: int
    end: int
    thing: Thing


class _ListOutline(msgspec.Struct):
    cues: dict[str, Raw] = {}


class Outline(msgspec.Struct):
    """The sections of a show that hold things, each thing as the bytes it is written in."""

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


_NOTHING = Raw(b"null")
_OUTLINE = msgspec.json.Decoder(Outline)
_LIST = msgspec.json.Decoder(_ListOutline)


def find_spans(data: bytes) -> list[Span] | None:
    """Return where each thing stands, in the order of the file; None without an outline."""
    if b"\0" in data or data[:3] == b"\xef\xbb\xbf":
        return None
    outline = outline_of(data)
    if outline is None:
        return None
    start_of = _Addresses(data)
    found: list[Span] = []
    for thing, raw in things_of(outline):
        start = start_of(raw)
        found.append(Span(start, start + len(memoryview(raw)), thing))
    found.sort()
    first: dict[Thing, Span] = {}
    for span in found:  # "a b", "1" and "a", "b 1" are presets of one name
        first.setdefault(span.thing, span)
    return [*first.values()]


def outline_of(data: bytes) -> Outline | None:
    """Return the outline of a document; None where it is no whole object."""
    try:
        return _OUTLINE.decode(data)
    except (msgspec.ValidationError, RecursionError, UnicodeDecodeError):
        return _outline_as_far_as_it_goes(data)
    except msgspec.DecodeError:
        return None


def _outline_as_far_as_it_goes(data: bytes) -> Outline | None:
    """Leave out each section, preset class and cue list that is no object."""
    sections = members_of(data)
    if sections is None:
        return None
    outline = Outline()
    for name in SECTIONS:
        setattr(outline, name, members_of(sections.get(name, _NOTHING)) or {})
    for group, raw in (members_of(sections.get("presets", _NOTHING)) or {}).items():
        outline.presets[group] = members_of(raw) or {}
    for number, raw in (members_of(sections.get("cue_lists", _NOTHING)) or {}).items():
        try:
            outline.cue_lists[number] = _LIST.decode(raw)
        except (msgspec.DecodeError, RecursionError, UnicodeDecodeError):
            continue
    return outline


def things_of(outline: Outline) -> Iterator[tuple[Thing, Raw]]:
    """Yield the things of an outline with their bytes, section by section."""
    for section, kind in SECTIONS.items():
        for key, raw in getattr(outline, section).items():
            yield Thing(kind, key), raw
    for group, presets in outline.presets.items():
        for key, raw in presets.items():
            yield Thing("preset", f"{group} {key}"), raw
    for number, cue_list in outline.cue_lists.items():
        for key, raw in cue_list.cues.items():
            yield Thing("cue", key, number), raw


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
        # Only another msgspec could hand out a copy; a cut at a wrong place would be worse.
        if not 0 <= start <= len(self._data):  # pragma: no cover
            raise RuntimeError("a decoded slice lies outside the bytes it was decoded from")
        return start

    def _address(self, owner: object) -> int:
        view = self._view
        ctypes.pythonapi.PyObject_GetBuffer(ctypes.py_object(owner), ctypes.byref(view), 0)
        try:
            return int(view.buf or 0)
        finally:
            ctypes.pythonapi.PyBuffer_Release(ctypes.byref(view))
