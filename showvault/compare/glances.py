"""What can be told of two things from their bytes, without decoding what is equal in both.

A field, and in a cue each fixture's stored values, is looked at as the bytes it is written in.
Equal bytes are equal values; unequal bytes are only a hint, and are decoded.
"""

from collections.abc import Mapping
from typing import TypeAlias

import msgspec
from msgspec import Raw

from showvault.show.trees import Tree, parse_part

Glance: TypeAlias = Mapping[str, Raw]
"""The members of an object, each as the bytes it is written in."""

_MEMBERS = msgspec.json.Decoder(dict[str, Raw])
_DEEPER = ("levels",)
"""Fields that are big and whose members are looked at one by one."""

_EMPTY = (b'""', b"{}", b"[]", b"0", b"false", b"null")


def glance_at(data: bytes) -> Glance | None:
    """Return the members of an object; None for anything else."""
    try:
        return _MEMBERS.decode(data)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return None


def holds_alike(one: Glance, other: Glance, fields: tuple[str, ...]) -> bool:
    """Tell whether any of these fields is written alike in both, and says something."""
    return any(
        name in one and name in other and one[name] == other[name] and one[name] not in _EMPTY
        for name in fields
    )


def count_alike(one: Raw, other: Raw) -> tuple[int, int] | None:
    """Return how many members two objects have alike, and how many the bigger one has."""
    before, after = glance_at(one), glance_at(other)
    if before is None or after is None:
        return None
    alike = sum(1 for key, value in before.items() if after.get(key) == value)
    return alike, max(len(before), len(after))


def trees_that_differ(one: bytes, other: bytes) -> tuple[Tree, Tree] | None:
    """Return two things without what is written alike in both; None: read them whole."""
    before, after = glance_at(one), glance_at(other)
    if before is None or after is None:
        return None
    try:
        return _without_alike(before, after), _without_alike(after, before)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return None


def _without_alike(own: Glance, others: Glance) -> dict[str, Tree]:
    left: dict[str, Tree] = {}
    for name, value in own.items():
        other = others.get(name)
        if other == value:
            continue
        inner = glance_at(value) if name in _DEEPER and other is not None else None
        inner_other = glance_at(other) if inner is not None and other is not None else None
        if inner is None or inner_other is None:
            left[name] = parse_part(value)
        else:
            left[name] = {
                key: parse_part(held) for key, held in inner.items() if inner_other.get(key) != held
            }
    return left
