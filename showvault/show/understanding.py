"""Whether the changed parts of a show are understood: what a save can afford to ask.

Few bytes are read strictly, so that a doubled key or a fourth decimal is found at once; many are
held against the types alone, and the check finds the rest after the version is kept.
"""

import re
from collections.abc import Iterator, Mapping
from typing import Any

import msgspec

from showvault.show.addressing import Kind, Thing
from showvault.show.cutting import skeleton_as_json
from showvault.show.faults import Fault, find_faults_in
from showvault.show.model import (
    Cue,
    CueList,
    Curve,
    Effect,
    Fixture,
    FixtureType,
    Group,
    Macro,
    Playback,
    Preset,
    Show,
    Submaster,
)
from showvault.show.outlines import SECTIONS
from showvault.show.places import path_to
from showvault.show.reading import NotUnderstoodError, NotWholeError, parse_tree
from showvault.show.renaming import NO_TEXTS, NONE_RENAMED, Texts
from showvault.show.trees import Tree, members_of

STRICTLY_READ_BYTES = 1_000_000
"""Up to so many changed bytes are read strictly (about a tenth of a second)."""


class _Stored(msgspec.Struct):
    """A part with stored values, each as it is written."""

    levels: dict[str, msgspec.Raw] = {}


MODELS: Mapping[Kind, type] = {
    "show": Show,
    "curve": Curve,
    "fixture_type": FixtureType,
    "fixture": Fixture,
    "group": Group,
    "preset": Preset,
    "effect": Effect,
    "macro": Macro,
    "submaster": Submaster,
    "cue_list": CueList,
    "cue": Cue,
    "playback": Playback,
}
"""The type of each kind of thing."""

_DECODERS: Mapping[Kind, msgspec.json.Decoder[Any]] = {
    kind: msgspec.json.Decoder(model) for kind, model in MODELS.items()
}
_STORED = msgspec.json.Decoder(_Stored)
_NUMBERED = re.compile(r"[1-9][0-9]{0,8}(\.[1-9][0-9]{0,8})?")
_SPACE = b" \t\r\n"
_PERHAPS_NO_VALUE = (b":{}", b'{"fade"', b'{"delay"', b'{"extra"')
_PLACES = re.compile(rb"\.[0-9]{4}")
_EXPONENT = re.compile(rb"[eE](?<=[0-9.][eE])[-+0-9]")
_TWO_VALUES = re.compile(rb'"(level|preset|release)":[^{}]*"(?!\1")(?:level|preset|release)":')

_STAND_INS: Mapping[str, Tree] = {"patch": {"type": "", "mode": ""}}


def find_faults_of_outline(skeleton: bytes, before: bytes = b"") -> list[Fault]:
    """Return the faults of what is left of a show without its parts, keys of things included.

    ``before`` is what was left of an earlier show that had no fault; a section that is written as
    it was there has none either.
    """
    try:
        outline = parse_tree(_sections_anew(skeleton_as_json(before), skeleton_as_json(skeleton)))
    except NotUnderstoodError as error:
        return error.faults
    except NotWholeError as error:
        return [Fault("the show", "", "", "a neutral show", error.reason)]
    for section, stand_in in _STAND_INS.items():
        members = outline.get(section) if isinstance(outline, dict) else None
        if isinstance(members, dict):
            for key, value in members.items():
                members[key] = stand_in if value == {} else value
    return find_faults_in(outline, Show)


def _sections_anew(was: bytes, outline: bytes) -> bytes:
    """Leave out of an outline the sections of things that are written as they were."""
    before, after = members_of(was), members_of(outline)
    if not before or not after or not _says_all(after, outline):
        return outline
    held = ("presets", "cue_lists", *SECTIONS)
    same = {name for name in held if name in after and after[name] == before.get(name)}
    return msgspec.json.encode({key: value for key, value in after.items() if key not in same})


def find_faults_of_parts(
    parts: Mapping[Thing, bytes],
    before: Mapping[Thing, bytes] | None = None,
    renamed: Mapping[Thing, Texts] = NONE_RENAMED,
) -> list[Fault]:
    """Return the faults of some parts of a show, each at its place in the whole.

    ``before`` holds parts of an earlier show that had no fault; what is written as it was there
    has none either. Of the ``renamed`` things, in which other presets are named and nothing else
    is new, one tells for all that name the same ones.
    """
    before = before or {}
    told: set[tuple[Kind, Texts]] = set()
    few = sum(map(len, parts.values())) <= STRICTLY_READ_BYTES
    sound = _is_sound if few else _has_its_types
    faults: list[Fault] = []
    for thing, data in parts.items():
        texts = renamed.get(thing, NO_TEXTS)
        if (thing.kind, texts) in told:
            continue
        was = before.get(thing, b"")
        if not sound(_what_is_new(was, data) if was else data, thing.kind):
            faults += _faults_of_part(thing, data)
        elif texts:
            told.add((thing.kind, texts))
    return faults


def _what_is_new(was: bytes, data: bytes) -> bytes:
    """Leave out of a part the levels that are written as they were; all of it where in doubt."""
    try:
        before, after = _STORED.decode(was).levels, _STORED.decode(data).levels
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return data
    members = members_of(data)
    if not before or not after or members is None:
        return data
    whole = members | {"levels": msgspec.Raw(msgspec.json.encode(after))}
    if not _says_all(whole, data):
        return data
    new = {key: value for key, value in after.items() if before.get(key) != value}
    return msgspec.json.encode(whole | {"levels": msgspec.Raw(msgspec.json.encode(new))})


def _says_all(members: Mapping[str, msgspec.Raw], data: bytes) -> bool:
    """Tell whether an object is nothing but these members: a key given twice would be missing."""
    return msgspec.json.encode(members).translate(None, _SPACE) == data.translate(None, _SPACE)


def _has_its_types(data: bytes, kind: Kind) -> bool:
    return _decode(data, kind) is not None


def _is_sound(data: bytes, kind: Kind) -> bool:
    """Tell in a fraction of the time what a walk through the part would find: nothing.

    May call a sound part unsound; the walk then has the last word.
    """
    value = _decode(data, kind)
    numbered: list[Any]
    match value:
        case Cue():
            numbered = [value.levels, value.parts, value.effects]
            numbered += [part.levels for part in (value.parts or {}).values()]
        case Preset() | Submaster():
            numbered = [value.levels]
        case _:
            return False
    if not all(map(_NUMBERED.fullmatch, (key for keys in numbered for key in keys or ()))):
        return False
    compact = data.translate(None, _SPACE)
    return not _is_doubtful(compact) and _written_again(data) == compact


def _is_doubtful(compact: bytes) -> bool:
    """Look for what types cannot tell; fixed texts are searched for first, as that is fast."""
    if any(text in compact for text in _PERHAPS_NO_VALUE) or _PLACES.search(compact):
        return True
    if (b'"level"' in compact or b'"release"' in compact) and _TWO_VALUES.search(compact):
        return True
    return b"e-" in compact and _EXPONENT.search(compact) is not None


def _written_again(data: bytes) -> bytes:
    """Return the part as it is written anew: a key given twice would be missing."""
    return msgspec.json.encode(msgspec.json.decode(data)).translate(None, _SPACE)


def _decode(data: bytes, kind: Kind) -> Any:
    try:
        return _DECODERS[kind].decode(data)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return None


def _faults_of_part(thing: Thing, data: bytes) -> Iterator[Fault]:
    try:
        tree = parse_tree(data)
    except NotUnderstoodError as error:
        yield from error.faults
        return
    yield from find_faults_in(tree, MODELS[thing.kind], path_to(thing))
