"""What can be told of two things from their bytes, without decoding what is equal in both.

A field, and in a cue each fixture's stored values, is looked at as the bytes it is written in.
Equal bytes are equal values; unequal bytes are only a hint, and are decoded.
"""

from collections.abc import Collection, Mapping
from typing import TypeAlias

import msgspec
from msgspec import Raw

from showvault.show.trees import Tree, members_of, parse_part

Members: TypeAlias = Mapping[str, Raw]
"""The members of an object, each as the bytes it is written in."""

_DEEPER = ("levels",)
"""Fields that are big and whose members are looked at one by one."""

_EMPTY = (b'""', b"{}", b"[]", b"0", b"false", b"null")


class Glance(dict[str, Raw]):
    """The members of an object as they are written, and those of its big fields when asked for."""

    def __init__(self, members: Members) -> None:
        super().__init__(members)
        self._deeper: dict[str, Members | None] = {}

    def deeper(self, name: str) -> Members | None:
        """Return the members of one of its fields; None where it has none, or is no object."""
        if name not in self._deeper:
            self._deeper[name] = members_of(self[name]) if name in self else None
        return self._deeper[name]


def glance_at(data: bytes) -> Glance | None:
    """Return the members of an object; None for anything else."""
    found = members_of(data)
    return None if found is None else Glance(found)


def holds_alike(one: Glance, other: Glance, fields: tuple[str, ...]) -> bool:
    """Tell whether any of these fields is written alike in both, and says something."""
    return any(
        name in one and name in other and one[name] == other[name] and one[name] not in _EMPTY
        for name in fields
    )


def count_alike(one: Glance, other: Glance, field: str) -> tuple[int, int] | None:
    """Return how many members a field has alike in both, and how many the bigger one has.

    None where it is not an object in both.
    """
    before, after = one.deeper(field), other.deeper(field)
    if before is None or after is None:
        return None
    alike = sum(1 for key, value in before.items() if after.get(key) == value)
    return alike, max(len(before), len(after))


def trees_that_differ(before: Glance | None, after: Glance | None) -> tuple[Tree, Tree] | None:
    """Return two things without what is written alike in both; None: read them whole."""
    if before is None or after is None:
        return None
    try:
        return _without_alike(before, after)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return None


def _without_alike(one: Glance, other: Glance) -> tuple[dict[str, Tree], dict[str, Tree]]:
    before, after = _unlike(one, other), _unlike(other, one)
    big = [
        name
        for name in _DEEPER
        if name in before and name in after and None not in (one.deeper(name), other.deeper(name))
    ]
    old, new = _decoded(before, without=big), _decoded(after, without=big)
    for name in big:
        inner, inner_other = one.deeper(name) or {}, other.deeper(name) or {}
        old[name] = _decoded(_unlike(inner, inner_other))
        new[name] = _decoded(_unlike(inner_other, inner))
    return old, new


def _unlike(own: Members, others: Members) -> Members:
    return {name: value for name, value in own.items() if others.get(name) != value}


def _decoded(members: Members, without: Collection[str] = ()) -> dict[str, Tree]:
    return {name: parse_part(value) for name, value in members.items() if name not in without}
