"""A cue or submaster without something that it names: plain values for a preset, or left out."""

from dataclasses import dataclass
from typing import Any

from showvault.compare.references import fixture_of
from showvault.compare.sides import Side
from showvault.show.addressing import Thing
from showvault.show.trees import Tree


@dataclass(frozen=True)
class GaveUp:
    """A tree without a reference, and how many stored values went with it."""

    tree: Tree
    lost: int = 0


def with_plain_values(tree: Tree, preset: Thing, source: Side) -> GaveUp:
    """Return the tree with what the preset holds stored plainly, with the same times.

    A value of a fixture for which the preset holds nothing counted as not stored, and goes.
    """
    lost = 0
    held = source.tree(preset)

    def plain(levels: dict[str, Tree]) -> dict[str, Tree]:
        nonlocal lost
        done: dict[str, Tree] = {}
        for key, values in levels.items():
            kept: dict[str, Tree] = {}
            for attribute, value in values.items():
                if not (isinstance(value, dict) and value.get("preset") == preset.id):
                    kept[attribute] = value
                    continue
                level = _held(held, key, _type_of(source, key), attribute)
                if level is None:
                    lost += 1
                    continue
                rest = {name: of for name, of in value.items() if name != "preset"}
                kept[attribute] = {"level": level, **rest} if rest else level
            if kept:
                done[key] = kept
        return done

    return GaveUp(_in_levels(tree, plain), lost)


def without_levels_of(tree: Tree, thing: Thing) -> GaveUp:
    """Return the tree without what it says of a fixture or an effect."""
    lost = 0

    def left(levels: dict[str, Tree]) -> dict[str, Tree]:
        nonlocal lost
        kept = {key: values for key, values in levels.items() if fixture_of(key) != thing}
        lost += len(levels) - len(kept)
        return kept

    if thing.kind == "fixture":
        tree = _in_levels(tree, left)
        if isinstance(tree, dict) and isinstance(tree.get("fixtures"), list):
            members = [m for m in tree["fixtures"] if fixture_of(str(m)) != thing]
            tree = {**tree, "fixtures": members}
    elif thing.kind == "effect":
        tree = _without_effect(tree, thing.id)
    return GaveUp(tree, lost)


def _without_effect(tree: Tree, number: str) -> Tree:
    done = dict(tree)
    if isinstance(done.get("effects"), dict):
        done["effects"] = {key: of for key, of in done["effects"].items() if key != number}
    if isinstance(done.get("parts"), dict):
        done["parts"] = {key: _without_effect(of, number) for key, of in done["parts"].items()}
    return done


def _in_levels(tree: Tree, change: Any) -> Tree:
    done = dict(tree)
    if isinstance(done.get("levels"), dict):
        done["levels"] = change(done["levels"])
    if isinstance(done.get("parts"), dict):
        done["parts"] = {key: _in_levels(part, change) for key, part in done["parts"].items()}
    return done


def _type_of(source: Side, key: str) -> str:
    fixture = fixture_of(key)
    tree = source.tree(fixture) if fixture in source else {}
    return str(tree.get("type", ""))


def _held(preset: Tree, key: str, type_name: str, attribute: str) -> Tree | None:
    """Return the exact level a preset holds: the fixture's own, its type's, one for all."""
    for table in (
        preset.get("levels", {}).get(key, {}),
        preset.get("types", {}).get(type_name, {}),
        preset.get("all", {}),
    ):
        if attribute in table:
            return table[attribute]
    return None
