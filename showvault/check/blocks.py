"""Whether block cues stop what tracks into them.

A block cue stores every parameter in use. The flag is an intent: what the cue does not store still
tracks through. Common practice, no source.
"""

from collections.abc import Iterator, Mapping

from msgspec import UnsetType

from showvault.check.contents import Contents
from showvault.check.finding import Finding, name_fixtures, warning
from showvault.look.storing import is_tracking, parts_in_order
from showvault.show.addressing import cue_order, place_order
from showvault.show.attributes import say_attribute
from showvault.show.model import Cue, StoredValue

_InUse = dict[str, set[str]]
"""By fixture or cell the attributes that a list holds."""


def find_blocks_that_let_through(contents: Contents) -> Iterator[Finding]:
    """``block-incomplete`` (warning): a block cue does not store everything its list holds."""
    lists = contents.show.cue_lists or {}
    for number in sorted(lists, key=place_order):
        cues = lists[number].cues or {}
        if is_tracking(lists[number]) and any(cue.block is True for cue in cues.values()):
            yield from _blocks_in(number, cues)


def _blocks_in(number: str, cues: Mapping[str, Cue]) -> Iterator[Finding]:
    in_use: _InUse = {}
    for cue_number in sorted(cues, key=cue_order):
        cue = cues[cue_number]
        stored = _stored_by(cue)
        if cue.block is True:
            through = {
                key: attributes - stored.get(key, set())
                for key, attributes in in_use.items()
                if not attributes <= stored.get(key, set())
            }
            if through:
                path = ("cue_lists", number, "cues", cue_number)
                yield warning("block-incomplete", path, _say_what_tracks_through(through))
        _put_in_use(in_use, cue)


def _stored_by(cue: Cue) -> _InUse:
    stored: _InUse = {}
    for _, part in parts_in_order(cue):
        for key, values in (part.levels or {}).items():
            stored.setdefault(key, set()).update(values)
    return stored


def _put_in_use(in_use: _InUse, cue: Cue) -> None:
    """Take over what a cue stores, and leave what it releases."""
    for _, part in parts_in_order(cue):
        for key, values in (part.levels or {}).items():
            held = in_use.setdefault(key, set())
            for attribute, value in values.items():
                if isinstance(value, StoredValue) and not isinstance(value.release, UnsetType):
                    held.discard(attribute)
                else:
                    held.add(attribute)


def _say_what_tracks_through(through: Mapping[str, set[str]]) -> str:
    attributes = sorted(map(say_attribute, set().union(*through.values())))
    named = ", ".join(attributes[:4]) + (" …" if len(attributes) > 4 else "")
    return f"marked block, but these track through it: {name_fixtures(through)} ({named})"
