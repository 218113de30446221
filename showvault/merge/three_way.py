"""One value, three sides: field by field, level by level, as finely as a comparison tells it.

- A side that did not change a value has no say in it; sides that agree are right.
- Structures and levels are gone into; a stored value, a follow, a link, a trigger, a cue's effect
  and most lists mean one thing (compare.shape) and are one value. Lists of members are combined
  (member_lists).
- What exists under a number (a part, a mode) and was removed by one side and edited by the other,
  or put in by both differently, is one decision.
- ``extra`` is gone into object by object.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Generic, TypeAlias, TypeVar

from msgspec import UNSET

from showvault.compare.changes import Path
from showvault.compare.fields import find_differences, same_value
from showvault.compare.shape import Fields, Leaf, Members, Shape
from showvault.merge.member_lists import SETS, merge_members
from showvault.show.addressing import place_order
from showvault.show.trees import Tree
from showvault.show.writing import canonical_tree

T = TypeVar("T")


@dataclass(frozen=True)
class Clash(Generic[T]):
    """Both sides changed a value, to different ones."""

    base: T
    ours: T
    theirs: T


Settle: TypeAlias = Callable[[Path, Clash[Tree]], Tree]
"""Returns the value that stands where both sides changed one."""


def merge_value(base: T, ours: T, theirs: T) -> T | Clash[T]:
    """Return the value both sides accept, or the clash between them."""
    return _merge_value(base, ours, theirs, same_value)


def merge_tree(shape: Shape, base: Tree, ours: Tree, theirs: Tree, settle: Settle) -> Tree:
    """Return a thing with the changes of both sides; UNSET is what a side does not have."""
    return _Merge(settle).of(shape, (), base, ours, theirs)


def _merge_value(base: T, ours: T, theirs: T, same: Callable[[Tree, Tree], bool]) -> T | Clash[T]:
    if same(ours, theirs) or same(theirs, base):
        return ours
    if same(ours, base):
        return theirs
    return Clash(base, ours, theirs)


@dataclass(frozen=True)
class _Merge:
    settle: Settle

    def of(self, shape: Shape, path: Path, base: Tree, ours: Tree, theirs: Tree) -> Tree:
        sides = (base, ours, theirs)
        match shape:
            case Fields() if _objects(sides):
                return self._fields(shape, path, sides)
            case Members() if _objects(sides):
                return self._members(shape, path, sides)
            case Leaf(holder):
                return self._leaf(holder, path, sides)
            case _:
                return self._one(path, sides, same_value)

    def _fields(self, shape: Fields, path: Path, sides: tuple[Tree, Tree, Tree]) -> Tree:
        merged = {}
        for name in _keys(sides):
            values = _each(sides, name)
            match shape.fields.get(name):
                case None:
                    value = self._plain((*path, name), values)
                case Leaf() as leaf:
                    value = self.of(leaf, (*path, name), *values)
                case inner:
                    value = self._container(inner, (*path, name), values)
            if value is not UNSET:
                merged[name] = value
        return merged

    def _members(self, shape: Members, path: Path, sides: tuple[Tree, Tree, Tree]) -> Tree:
        merged = {}
        for name in _keys(sides):
            values = _each(sides, name)
            match shape.member:
                case Fields() as inner if any(value is UNSET for value in values):
                    value = self._one((*path, name), values, _same_by(inner))
                case Fields() | Leaf() as inner:
                    value = self.of(inner, (*path, name), *values)
                case inner:
                    value = self._container(inner, (*path, name), values)
            if value is not UNSET:
                merged[name] = value
        return merged

    def _container(self, shape: Shape, path: Path, values: tuple[Tree, Tree, Tree]) -> Tree:
        """Merge what is the same empty or absent; it stays absent where nothing is in it."""
        merged = self.of(shape, path, *({} if value is UNSET else value for value in values))
        return UNSET if merged == {} and UNSET in values[1:] else merged

    def _leaf(self, holder: object, path: Path, sides: tuple[Tree, Tree, Tree]) -> Tree:
        def same(one: Tree, other: Tree) -> bool:
            return same_value(one, other) or same_value(
                _written(holder, path, one), _written(holder, path, other)
            )

        merged = _merge_value(*sides, same)
        if not isinstance(merged, Clash):
            return merged
        if path[-1] in SETS:
            members = merge_members(*([] if side is UNSET else side for side in sides))
            if members is not None:
                return members or UNSET
        return self.settle(path, merged)

    def _one(
        self, path: Path, sides: tuple[Tree, Tree, Tree], same: Callable[[Tree, Tree], bool]
    ) -> Tree:
        merged = _merge_value(*sides, same)
        return self.settle(path, merged) if isinstance(merged, Clash) else merged

    def _plain(self, path: Path, sides: tuple[Tree, Tree, Tree]) -> Tree:
        """Merge what is never interpreted: objects are gone into, lists are one value."""
        base, ours, theirs = sides
        if not _objects((ours, theirs)) or not (base is UNSET or isinstance(base, dict)):
            return self._one(path, sides, same_value)
        if base is UNSET and same_value(ours, theirs):
            return ours
        sides = ({} if base is UNSET else base, ours, theirs)
        merged = {name: self._plain((*path, name), _each(sides, name)) for name in _keys(sides)}
        return {name: value for name, value in merged.items() if value is not UNSET}


def _same_by(shape: Shape) -> Callable[[Tree, Tree], bool]:
    """Return the equality of canonical writing, for what exists though it may be empty."""

    def same(one: Tree, other: Tree) -> bool:
        if one is UNSET or other is UNSET:
            return one is other
        return next(iter(find_differences(shape, one, other)), None) is None

    return same


def _written(holder: object, path: Path, value: Tree) -> Tree:
    """Return a value as canonical writing has it; UNSET where it writes nothing."""
    if not isinstance(value, dict | list):
        return value
    return canonical_tree({path[-1]: value}, holder).get(path[-1], UNSET)


def _objects(values: Iterable[Tree]) -> bool:
    return all(isinstance(value, dict) for value in values)


def _keys(sides: tuple[Tree, Tree, Tree]) -> list[str]:
    """Return the keys of ours with those of theirs where they stood; the base's alone are gone."""
    _, ours, theirs = sides
    behind: dict[str | None, list[str]] = {}
    anchor = None
    for key in theirs:
        if key in ours:
            anchor = key
        else:
            behind.setdefault(anchor, []).append(key)
    if not behind:
        return list(ours)
    if _in_order(ours) and _in_order(theirs):
        return sorted({**ours, **theirs}, key=place_order)
    return [*behind.get(None, ()), *(k for key in ours for k in (key, *behind.get(key, ())))]


def _in_order(held: Tree) -> bool:
    """Tell whether an object is keyed by numbers, and these follow one another."""
    numbers = [place_order(key) for key in held]
    return all(key[:1].isdecimal() for key in held) and numbers == sorted(numbers)


def _each(sides: tuple[Tree, Tree, Tree], name: str) -> tuple[Tree, Tree, Tree]:
    base, ours, theirs = (side.get(name, UNSET) for side in sides)
    return base, ours, theirs
