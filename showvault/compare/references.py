"""Where a thing names other things: a cue its fixtures and presets, a playback its list …

A reference is either a key (a fixture's number among the levels) or a value (a preset's name). A
link that names no list means the list it stands in.
"""

from collections.abc import Iterator
from typing import NamedTuple

from showvault.compare.changes import Path
from showvault.show.addressing import Thing
from showvault.show.trees import Tree


class Reference(NamedTuple):
    """One place that names another thing; list members are numbered from 0 in the path."""

    path: Path
    target: Thing


def references_in(thing: Thing, tree: Tree) -> Iterator[Reference]:
    """Yield every reference of a thing, in the order of its fields."""
    if not isinstance(tree, dict):
        return
    match thing.kind:
        case "cue":
            yield from _cue_references(thing, tree)
        case "submaster":
            yield from _part_references((), tree)
        case "preset":
            for key, _ in _members(tree, "types"):
                yield Reference(("types", key), Thing("fixture_type", key))
            for key, _ in _members(tree, "levels"):
                yield Reference(("levels", key), fixture_of(key))
        case "group" | "effect":
            for number, member in _items(tree, "fixtures"):
                yield Reference(("fixtures", number), fixture_of(str(member)))
        case "fixture":
            yield from _fixture_references(tree)
        case "playback" if isinstance(tree.get("cue_list"), str):
            yield Reference(("cue_list",), Thing("cue_list", tree["cue_list"]))


def fixture_of(key: str) -> Thing:
    """Return the fixture that a fixture's or a cell's number belongs to."""
    return Thing("fixture", key.partition(".")[0])


def target_of_link(link: Tree, own_list: str) -> Thing | None:
    """Return what a link leads to: a cue, or a list where it names no cue."""
    if not isinstance(link, dict):
        return None
    number, cue = link.get("list", own_list), link.get("cue")
    if not isinstance(number, str):
        return None
    if isinstance(cue, str):
        return Thing("cue", cue, number)
    return Thing("cue_list", number) if "list" in link else None


def _cue_references(cue: Thing, tree: dict[str, Tree]) -> Iterator[Reference]:
    yield from _part_references((), tree)
    for number, part in _members(tree, "parts"):
        yield from _part_references(("parts", number), part)
    yield from _link_references(("link",), tree.get("link"), cue.list)
    for number, link in _items(tree, "also_go"):
        yield from _link_references(("also_go", number), link, cue.list)


def _fixture_references(tree: dict[str, Tree]) -> Iterator[Reference]:
    if isinstance(tree.get("type"), str):
        yield Reference(("type",), Thing("fixture_type", tree["type"]))
    for number, address in _items(tree, "addresses"):
        if isinstance(address, dict) and isinstance(address.get("curve"), str):
            yield Reference(("addresses", number, "curve"), Thing("curve", address["curve"]))


def _part_references(path: Path, tree: Tree) -> Iterator[Reference]:
    for key, values in _members(tree, "levels"):
        yield Reference((*path, "levels", key), fixture_of(key))
        if isinstance(values, dict):
            for attribute, value in values.items():
                if isinstance(value, dict) and isinstance(value.get("preset"), str):
                    place = (*path, "levels", key, attribute, "preset")
                    yield Reference(place, Thing("preset", value["preset"]))
    for key, _ in _members(tree, "effects"):
        yield Reference((*path, "effects", key), Thing("effect", key))


def _link_references(path: Path, link: Tree, own_list: str) -> Iterator[Reference]:
    target = target_of_link(link, own_list)
    if target is not None:
        yield Reference(path, target)


def _members(tree: Tree, field: str) -> list[tuple[str, Tree]]:
    held = tree.get(field) if isinstance(tree, dict) else None
    return list(held.items()) if isinstance(held, dict) else []


def _items(tree: dict[str, Tree], field: str) -> list[tuple[str, Tree]]:
    held = tree.get(field)
    items = held if isinstance(held, list) else []
    return [(str(number), item) for number, item in enumerate(items)]
