"""What differs inside one thing: one change for each field and each stored level.

Order of keys, spacing, 50 and 50.0, an absent and an empty collection are no difference, by the
rules of canonical writing (show.writing); values are exact.
"""

from collections.abc import Callable, Iterable, Iterator
from typing import TypeAlias

from msgspec import UNSET

from showvault.compare.changes import Path
from showvault.compare.shape import Fields, Leaf, Members, Shape
from showvault.show.addressing import place_order
from showvault.show.trees import Tree, encode_tree, same_tree
from showvault.show.writing import canonical_tree

Difference: TypeAlias = tuple[Path, Tree, Tree]
"""Path inside the thing, before, after."""

Rekey: TypeAlias = Callable[[Path, dict[str, Tree], dict[str, Tree]], dict[str, Tree]]
"""Renames the keys of a before object that refer to things which moved."""


def keep_keys(path: Path, before: dict[str, Tree], after: dict[str, Tree]) -> dict[str, Tree]:
    """Return an object as it is: the Rekey of a show in which nothing moved."""
    return before


def find_differences(
    shape: Shape, before: Tree, after: Tree, rekey: Rekey = keep_keys
) -> Iterator[Difference]:
    """Yield what differs between two values of one shape, in the order of a show."""
    return _differences(shape, (), before, after, rekey)


def same_value(one: Tree, other: Tree) -> bool:
    """Tell whether two values are equal as JSON, fast where they are."""
    if one != other:
        return False
    if one is UNSET or other is UNSET:
        return one is other
    # Python holds True equal to 1, which JSON does not; equal bytes settle it at once.
    return encode_tree(one) == encode_tree(other) or same_tree(one, other)


def _differences(
    shape: Shape, path: Path, before: Tree, after: Tree, rekey: Rekey
) -> Iterator[Difference]:
    match shape:
        case Fields() if _objects(before, after):
            yield from _field_differences(shape, path, before, after, rekey)
        case Members() if _objects(before, after):
            yield from _member_differences(shape, path, before, after, rekey)
        case Leaf(holder):
            one, other = _written(holder, path, before), _written(holder, path, after)
            if not same_value(one, other):
                yield path, before, after
        case _:
            if not (_nothing(before) and _nothing(after)):
                yield path, before, after


def _field_differences(
    shape: Fields, path: Path, before: dict[str, Tree], after: dict[str, Tree], rekey: Rekey
) -> Iterator[Difference]:
    for name in _unequal(before, after, list(shape.fields)):
        one, other = before.get(name, UNSET), after.get(name, UNSET)
        match shape.fields.get(name):
            case None:
                yield from _plain_differences((*path, name), one, other)
            case Leaf() as leaf:
                yield from _differences(leaf, (*path, name), one, other, rekey)
            case inner:
                yield from _differences(
                    inner, (*path, name), _or_empty(one), _or_empty(other), rekey
                )


def _member_differences(
    shape: Members, path: Path, before: dict[str, Tree], after: dict[str, Tree], rekey: Rekey
) -> Iterator[Difference]:
    before = rekey(path, before, after)
    for name in _unequal(before, after, []):
        one, other = before.get(name, UNSET), after.get(name, UNSET)
        match shape.member:
            case Fields() if one is UNSET or other is UNSET:  # it exists, though it may be empty
                yield (*path, name), one, other
            case Leaf() as leaf:
                yield from _differences(leaf, (*path, name), one, other, rekey)
            case inner:
                yield from _differences(
                    inner, (*path, name), _or_empty(one), _or_empty(other), rekey
                )


def _plain_differences(path: Path, before: Tree, after: Tree) -> Iterator[Difference]:
    """Compare what is never interpreted: objects are looked into, lists are one value."""
    if isinstance(before, dict) and isinstance(after, dict):
        for name in _unequal(before, after, []):
            yield from _plain_differences(
                (*path, name), before.get(name, UNSET), after.get(name, UNSET)
            )
    elif not same_value(before, after):
        yield path, before, after


def _unequal(before: dict[str, Tree], after: dict[str, Tree], first: list[str]) -> list[str]:
    """Return the keys whose values may differ: those of ``first``, then by number."""
    keys = [key for key in before if not same_value(before[key], after.get(key, UNSET))]
    keys += [key for key in after if key not in before]
    rank = {key: number for number, key in enumerate(first)}
    return sorted(keys, key=lambda key: (rank.get(key, len(rank)), place_order(key)))


def _written(holder: object, path: Path, value: Tree) -> Tree:
    """Return a value as canonical writing has it; UNSET where it writes nothing."""
    if not isinstance(value, dict | list):
        return value
    return canonical_tree({path[-1]: value}, holder).get(path[-1], UNSET)


def _objects(*values: Tree) -> bool:
    return all(isinstance(value, dict) for value in values)


def _or_empty(value: Tree) -> Tree:
    return {} if value is UNSET else value


def _nothing(value: Tree) -> bool:
    return value is UNSET or value in ({}, [])


def leaves_of(value: Tree, path: Path = ()) -> Iterable[tuple[Path, Tree]]:
    """Yield the values inside a value with their paths; the members of a list count alike."""
    if isinstance(value, dict):
        for key, member in value.items():
            yield from leaves_of(member, (*path, key))
    elif isinstance(value, list):
        for member in value:
            yield from leaves_of(member, (*path, "[]"))
    else:
        yield path, value
