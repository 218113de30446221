"""A show put together again from its parts, for what needs all of it understood: looks."""

from typing import Any

import msgspec

from showvault.show.model import Show
from showvault.show.parts import ShowParts
from showvault.show.places import path_to
from showvault.show.reading import decode_show

_WRITE = msgspec.json.Encoder(decimal_format="number")


def whole_show(parts: ShowParts, name: str = "the show") -> Show:
    """Return the show that the parts make up; every part of it is read.

    Raises NotUnderstoodError where it does not keep the rules of the neutral show.
    """
    tree = _copied(parts.outline)
    for thing, part in parts.parts.items():
        *way, last = path_to(thing)
        holder = tree
        for key in way:
            holder = holder[key]
        holder[last] = msgspec.Raw(part.data)
    return decode_show(_WRITE.encode(tree), name)


def _copied(value: Any) -> Any:
    """Copy the objects of an outline, which belongs to somebody else."""
    if isinstance(value, dict):
        return {key: _copied(member) for key, member in value.items()}
    return value
