"""How much of a thing is brought back: all of it, one attribute, or its patch in one universe."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

from showvault.show.trees import Tree


@dataclass(frozen=True)
class Whole:
    """All of it."""


@dataclass(frozen=True)
class OneAttribute:
    """The stored values of one attribute, in every fixture and part."""

    attribute: str
    """Its name, in capitals or not."""

    def is_named(self, name: str) -> bool:
        """Tell whether a name is that of the attribute."""
        return name.casefold() == self.attribute.casefold()


@dataclass(frozen=True)
class OneUniverse:
    """The start addresses in one universe."""

    universe: int


Portion: TypeAlias = Whole | OneAttribute | OneUniverse

_TABLES = ("levels", "types")


def portion_of(tree: Tree, portion: Portion) -> Tree:
    """Return a thing of the older show with nothing in it but what is brought back."""
    match portion:
        case Whole():
            return tree
        case OneAttribute():
            return _attribute_alone(tree, portion.is_named)
        case OneUniverse(universe):
            return {"addresses": [one for one in _addresses(tree) if one["universe"] == universe]}


def attributes_in(tree: Tree) -> frozenset[str]:
    """Return the attributes that a cue or a preset stores something of, in any of its parts."""
    names: set[str] = set()

    def note(name: str) -> bool:
        names.add(name)
        return False

    _attribute_alone(tree, note)
    return frozenset(names)


def put_portion(portion: Portion, old: Tree, current: Tree) -> Tree:
    """Return the current thing with the portion of the older one in place of its own."""
    match portion:
        case Whole():
            return old
        case OneAttribute():
            return _joined(_without(current, portion), old)
        case OneUniverse(universe):
            kept = [one for one in _addresses(current) if one["universe"] != universe]
            addresses = [*kept, *old["addresses"]]
            if addresses == _addresses(current):
                return current
            rest = {name: value for name, value in current.items() if name != "addresses"}
            return {**rest, "addresses": addresses} if addresses else rest


def _addresses(tree: Tree) -> list[Tree]:
    held = tree.get("addresses")
    return held if isinstance(held, list) else []


def _attribute_alone(tree: Tree, wanted: Callable[[str], bool]) -> Tree:
    alone: dict[str, Tree] = {}
    for table in _TABLES:
        rows = _rows(tree.get(table, {}), wanted)
        if rows:
            alone[table] = rows
    for_all = {name: value for name, value in tree.get("all", {}).items() if wanted(name)}
    if for_all:
        alone["all"] = for_all
    parts = {
        number: inner
        for number, part in tree.get("parts", {}).items()
        if (inner := _attribute_alone(part, wanted))
    }
    if parts:
        alone["parts"] = parts
    return alone


def _without(tree: Tree, attribute: OneAttribute) -> Tree:
    """Return a thing without one attribute; fixtures that are left with nothing are out."""
    rest = _attribute_alone(tree, lambda name: not attribute.is_named(name))
    done = {name: value for name, value in tree.items() if name not in (*_TABLES, "all", "parts")}
    for name in (*_TABLES, "all"):
        if name in tree:
            done[name] = rest.get(name, {})
    if "parts" in tree:
        done["parts"] = {key: _without(part, attribute) for key, part in tree["parts"].items()}
    return done


def _rows(table: Tree, wanted: Callable[[str], bool]) -> dict[str, Tree]:
    kept = {
        key: {name: value for name, value in values.items() if wanted(name)}
        for key, values in table.items()
    }
    return {key: values for key, values in kept.items() if values}


def _joined(one: Tree, other: Tree) -> Tree:
    """Return two objects as one; what both have is gone into."""
    if not (isinstance(one, dict) and isinstance(other, dict)):
        return other
    return {
        **one,
        **{key: _joined(one[key], value) if key in one else value for key, value in other.items()},
    }
