"""How finely a show is compared: what is one change, and what is looked into.

- A stored level is one change: (part,) fixture, attribute; with its own times, preset or release.
- Structures are looked into field by field; a follow, a link, a trigger, a cue's effect and every
  list (addresses, channels, a group's fixtures …) mean one thing and are one change.
- What stands under a number or a name (a part, a mode, a class of times) and is on one side only is
  one change.
- ``extra`` and unknown fields are looked into object by object.
"""

from dataclasses import dataclass
from functools import cache
from types import GenericAlias, UnionType
from typing import Annotated, Any, TypeAlias, Union, get_args, get_origin

import msgspec
from msgspec import Struct, UnsetType

from showvault.show import model
from showvault.show.addressing import Kind
from showvault.show.outlines import SECTIONS
from showvault.show.understanding import MODELS

_MEAN_ONE_THING = (
    model.Follow,
    model.Link,
    model.Trigger,
    model.CueEffect,
    model.StoredValue,
    model.StartAddress,
    model.Channel,
    model.ChannelFunction,
)


OWN_THINGS: dict[Kind, frozenset[str]] = {
    "show": frozenset({*SECTIONS, "presets", "cue_lists"}),
    "cue_list": frozenset({"cues"}),
}
"""The fields whose members are things of their own."""


@dataclass(frozen=True)
class Leaf:
    """One change; ``holder`` is the model of the object that the value stands in."""

    holder: Any


@dataclass(frozen=True)
class Fields:
    """A structure that is looked into."""

    model: type
    fields: dict[str, "Shape"]


@dataclass(frozen=True)
class Members:
    """An object keyed by numbers or names."""

    member: "Shape"


Shape: TypeAlias = Leaf | Fields | Members


@cache
def shape_of(kind: Kind) -> Fields:
    """Return how a thing of a kind is compared; what is a thing of its own is left out."""
    whole = _fields_of(MODELS[kind])
    own = OWN_THINGS.get(kind, frozenset())
    leaf = Leaf(whole.model)
    return Fields(
        whole.model,
        {name: leaf if name in own else shape for name, shape in whole.fields.items()},
    )


@cache
def _fields_of(owner: type) -> Fields:
    return Fields(
        owner,
        {
            field.encode_name: _shape(field.type, Leaf(owner))
            for field in msgspec.structs.fields(owner)
            if field.encode_name != "extra"
        },
    )


def _shape(annotation: Any, otherwise: Leaf) -> Shape:
    """Return the shape of a field or member; ``otherwise`` is for what means one thing."""
    for choice in _choices(annotation):
        if get_origin(choice) is dict:
            member = get_args(choice)[1]
            return Members(_shape(member, Leaf(GenericAlias(dict, (str, member)))))
        if isinstance(choice, type) and issubclass(choice, Struct):
            return otherwise if choice in _MEAN_ONE_THING else _fields_of(choice)
    return otherwise


def _choices(annotation: Any) -> list[Any]:
    """Return what an annotation may be, without notes and UNSET."""
    if get_origin(annotation) is Annotated:
        return _choices(get_args(annotation)[0])
    if get_origin(annotation) in (Union, UnionType):
        return [found for choice in get_args(annotation) for found in _choices(choice)]
    return [] if annotation is UnsetType else [annotation]
