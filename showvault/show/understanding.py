"""Whether the changed parts of a show are understood: what a save can afford to ask.

Few bytes are read strictly, so that a doubled key or a fourth decimal is found at once; many are
held against the types alone, and the check finds the rest after the version is kept.
"""

from collections.abc import Iterator, Mapping

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
from showvault.show.places import path_to
from showvault.show.reading import NotUnderstoodError, NotWholeError, parse_tree
from showvault.show.trees import Tree

STRICTLY_READ_BYTES = 1_000_000
"""Up to so many changed bytes are read strictly (about a tenth of a second)."""

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

_STAND_INS: Mapping[str, Tree] = {"patch": {"type": "", "mode": ""}}


def find_faults_of_outline(skeleton: bytes) -> list[Fault]:
    """Return the faults of what is left of a show without its parts, keys of things included."""
    try:
        outline = parse_tree(skeleton_as_json(skeleton))
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


def find_faults_of_parts(parts: Mapping[Thing, bytes]) -> list[Fault]:
    """Return the faults of some parts of a show, each at its place in the whole."""
    strictly = sum(map(len, parts.values())) <= STRICTLY_READ_BYTES
    faults: list[Fault] = []
    for thing, data in parts.items():
        if strictly or not _decodes(data, thing.kind):
            faults += _faults_of_part(thing, data)
    return faults


def _decodes(data: bytes, kind: Kind) -> bool:
    try:
        msgspec.json.decode(data, type=MODELS[kind])
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return False
    return True


def _faults_of_part(thing: Thing, data: bytes) -> Iterator[Fault]:
    try:
        tree = parse_tree(data)
    except NotUnderstoodError as error:
        yield from error.faults
        return
    yield from find_faults_in(tree, MODELS[thing.kind], path_to(thing))
