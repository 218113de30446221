"""A thing with everything that it names called by another name.

References are keys (a fixture among the levels, an effect, a fixture type) and values (a preset, a
link, the members of a group, a type, a curve, a list). A name that nothing answers to stays as it
is; a key never takes the place of another one that stays.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

from showvault.compare.references import fixture_of, target_of_link
from showvault.show.addressing import Kind, Thing
from showvault.show.trees import Tree

NewName: TypeAlias = Callable[[Thing], Thing]
"""Tells what a thing is called now."""

_OWN_KEYS: dict[Kind, dict[str, Kind]] = {
    "cue": {"levels": "fixture", "effects": "effect"},
    "submaster": {"levels": "fixture"},
    "preset": {"levels": "fixture", "types": "fixture_type"},
}
"""The objects whose keys name things, for each kind of thing that has such objects."""


def rename_references(tree: Tree, thing: Thing, renamed: Thing, new_name: NewName) -> Tree:
    """Return a thing's tree with all it names called anew; the tree given stays as it is.

    ``thing`` is its name before and ``renamed`` its name now: a cue's links without a list mean
    the list that it stands in.
    """
    return _Renaming(thing, renamed, new_name).of(tree) if isinstance(tree, dict) else tree


@dataclass(frozen=True)
class _Renaming:
    thing: Thing
    renamed: Thing
    new_name: NewName

    def of(self, tree: dict[str, Tree]) -> dict[str, Tree]:
        kind = self.thing.kind
        done = self._with_own_keys(tree)
        for name, value in done.items():
            match (kind, name):
                case ("cue", "parts") if isinstance(value, dict):
                    done[name] = {
                        number: self._with_own_keys(part) if isinstance(part, dict) else part
                        for number, part in value.items()
                    }
                case ("cue", "link"):
                    done[name] = self._link(value)
                case ("cue", "also_go") if isinstance(value, list):
                    done[name] = [self._link(link) for link in value]
                case ("group" | "effect", "fixtures") if isinstance(value, list):
                    done[name] = [self._member(member) for member in value]
                case ("fixture", "addresses") if isinstance(value, list):
                    done[name] = [self._address(address) for address in value]
                case ("fixture", "type"):
                    done[name] = self._named("fixture_type", value)
                case ("playback", "cue_list"):
                    done[name] = self._named("cue_list", value)
        return done

    def _with_own_keys(self, tree: dict[str, Tree]) -> dict[str, Tree]:
        done = dict(tree)
        for name, kind in _OWN_KEYS.get(self.thing.kind, {}).items():
            if isinstance(done.get(name), dict):
                done[name] = self._keys(kind, done[name])
        if self.thing.kind in ("cue", "submaster") and isinstance(done.get("levels"), dict):
            done["levels"] = {
                key: self._values(values) if isinstance(values, dict) else values
                for key, values in done["levels"].items()
            }
        return done

    def _keys(self, kind: Kind, held: dict[str, Tree]) -> dict[str, Tree]:
        new = {key: self._key(kind, key) for key in held}
        while True:  # a key that gives way makes way for no other
            staying = {key for key in held if new[key] == key}
            blocked = [key for key in held if new[key] != key and new[key] in staying]
            if not blocked:
                return {new[key]: value for key, value in held.items()}
            new |= {key: key for key in blocked}

    def _key(self, kind: Kind, key: str) -> str:
        if kind != "fixture":
            return self.new_name(Thing(kind, key)).id
        cell = key.partition(".")
        return self.new_name(fixture_of(key)).id + cell[1] + cell[2]

    def _values(self, values: dict[str, Tree]) -> dict[str, Tree]:
        return {
            attribute: {**value, "preset": self._named("preset", value["preset"])}
            if isinstance(value, dict) and "preset" in value
            else value
            for attribute, value in values.items()
        }

    def _named(self, kind: Kind, value: Tree) -> Tree:
        return self.new_name(Thing(kind, value)).id if isinstance(value, str) else value

    def _member(self, member: Tree) -> Tree:
        if isinstance(member, bool) or not isinstance(member, int | str):
            return member
        key = self._key("fixture", str(member))
        return int(key) if isinstance(member, int) else key

    def _address(self, address: Tree) -> Tree:
        if not isinstance(address, dict) or "curve" not in address:
            return address
        return {**address, "curve": self._named("curve", address["curve"])}

    def _link(self, link: Tree) -> Tree:
        target = target_of_link(link, self.thing.list)
        if target is None:
            return link
        new = self.new_name(target)
        if new.kind == "cue_list":
            return {**link, "list": new.id}
        if "list" in link or new.list != self.renamed.list:
            return {**link, "list": new.list, "cue": new.id}
        return {**link, "cue": new.id}
