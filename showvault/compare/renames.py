"""What moved things are called now, and whether a reference followed them."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from msgspec import UNSET

from showvault.compare.changes import Path
from showvault.compare.fields import same_value
from showvault.compare.references import fixture_of, target_of_link
from showvault.show.addressing import Kind, Thing
from showvault.show.trees import Tree

_KEYS: dict[str, Kind] = {"levels": "fixture", "effects": "effect", "types": "fixture_type"}
"""The objects whose keys name things."""


@dataclass(frozen=True)
class Renames:
    """The new name of each thing that moved; the cues of a moved list moved with it."""

    moved: Mapping[Thing, Thing] = field(default_factory=dict)

    def __bool__(self) -> bool:
        return bool(self.moved)

    @cached_property
    def kinds(self) -> frozenset[Kind]:
        """The kinds of things that moved."""
        return frozenset(thing.kind for thing in self.moved)

    @cached_property
    def _moved_lists(self) -> frozenset[str]:
        return frozenset(thing.id for thing in self.moved if thing.kind == "cue_list")

    def mover_of(self, thing: Thing) -> Thing | None:
        """Return the old name of what moved and took this thing along; None if nothing did."""
        if thing in self.moved:
            return thing
        if thing.kind == "cue" and thing.list in self._moved_lists:
            return Thing("cue_list", thing.list)
        return None

    def new_name(self, thing: Thing) -> Thing:
        """Return what a thing of the old show is called in the new one."""
        mover = self.mover_of(thing)
        if mover is None:
            return thing
        renamed = self.moved[mover]
        return renamed if mover == thing else Thing("cue", thing.id, renamed.id)

    def blurred(self) -> "Renames":
        """Return names under which a reference is the same whether it followed or not."""
        last: dict[Thing, Thing] = {}
        for thing in self.moved:
            way = [thing]
            while way[-1] in self.moved and self.moved[way[-1]] not in way:
                way.append(self.moved[way[-1]])
            # A circle has no last name: the least of its names stands for all.
            last[thing] = min(way) if way[-1] in self.moved else way[-1]
        return Renames(last)

    def new_path(self, path: Path) -> Path:
        """Return a path inside a thing with the keys that name things as the new show has them."""
        return tuple(
            _new_key(self, _KEYS[above], step) if above in _KEYS else step
            for above, step in zip(("", *path), path, strict=False)
        )

    def new_value(self, path: Path, value: Tree) -> Tree:
        """Return a value at a path, a reference as the new show has it; links stay as they are.

        Members of lists stand at "[]".
        """
        match path:
            case (*_, "preset") if isinstance(value, str):
                return self.new_name(Thing("preset", value)).id
            case ("fixtures", "[]"):
                return type(value)(_new_key(self, "fixture", str(value)))
            case ("type",) if isinstance(value, str):
                return self.new_name(Thing("fixture_type", value)).id
            case ("cue_list",) if isinstance(value, str):
                return self.new_name(Thing("cue_list", value)).id
            case ("addresses", "[]", "curve") if isinstance(value, str):
                return self.new_name(Thing("curve", value)).id
            case _:
                return value

    def key_target(self, path: Path, key: str) -> Thing:
        """Return the moved thing that a key of the object at the path names."""
        kind = _KEYS[path[-1]]
        return fixture_of(key) if kind == "fixture" else Thing(kind, key)


def followed_keys(
    renames: Renames, path: Path, before: dict[str, Tree], after: dict[str, Tree]
) -> dict[str, str]:
    """Return which keys of an object followed a moved thing: old key to new key."""
    kind = _KEYS.get(path[-1]) if path else None
    if kind is None or kind not in renames.kinds:
        return {}
    followed = {}
    for key in before:
        new = _new_key(renames, kind, key)
        stays = key in after and same_value(before[key], after[key])
        if new != key and new in after and not stays:
            followed[key] = new
    while True:  # a key that is still taken cannot be followed into
        blocked = [key for key, new in followed.items() if new in before and new not in followed]
        if not blocked:
            return followed
        for key in blocked:
            del followed[key]


def movers_followed(
    renames: Renames, path: Path, before: Tree, after: Tree, lists: tuple[str, str]
) -> frozenset[Thing]:
    """Return the old names of the moved things whose references are all that differs in a value.

    ``path`` leads to the value inside a thing, or inside a part; ``lists`` are the cue list the
    thing was in and the one it is in. Empty where anything else differs too.
    """
    match path:
        case ("levels", _, _) if isinstance(before, dict) and isinstance(after, dict):
            return _if_only("preset", "preset", renames, before, after)
        case ("link",):
            return _link_followed(renames, before, after, lists)
        case ("also_go",):
            return _each(before, after, lambda b, a: _link_followed(renames, b, a, lists))
        case ("fixtures",):
            return _each(before, after, lambda b, a: _member_followed(renames, b, a))
        case ("addresses",):
            return _each(before, after, lambda b, a: _if_only("curve", "curve", renames, b, a))
        case ("type",):
            return _named("fixture_type", renames, before, after)
        case ("cue_list",):
            return _named("cue_list", renames, before, after)
        case _:
            return frozenset()


def _new_key(renames: Renames, kind: Kind, key: str) -> str:
    if kind != "fixture":
        return renames.new_name(Thing(kind, key)).id
    fixture, dot, cell = key.partition(".")
    return renames.new_name(Thing("fixture", fixture)).id + dot + cell


def _named(kind: Kind, renames: Renames, before: Tree, after: Tree) -> frozenset[Thing]:
    if not (isinstance(before, str) and isinstance(after, str)):
        return frozenset()
    thing = Thing(kind, before)
    return frozenset({thing}) if renames.moved.get(thing) == Thing(kind, after) else frozenset()


def _if_only(
    field: str, kind: Kind, renames: Renames, before: Tree, after: Tree
) -> frozenset[Thing]:
    if not (isinstance(before, dict) and isinstance(after, dict)):
        return frozenset()
    one, other = {**before, field: None}, {**after, field: None}
    if not same_value(one, other):
        return frozenset()
    return _named(kind, renames, before.get(field, UNSET), after.get(field, UNSET))


def _member_followed(renames: Renames, before: Tree, after: Tree) -> frozenset[Thing]:
    mover = fixture_of(str(before))
    if type(before) is not type(after) or mover not in renames.moved:
        return frozenset()
    return frozenset({mover} if _new_key(renames, "fixture", str(before)) == str(after) else ())


def _link_followed(
    renames: Renames, before: Tree, after: Tree, lists: tuple[str, str]
) -> frozenset[Thing]:
    old, new = target_of_link(before, lists[0]), target_of_link(after, lists[1])
    mover = renames.mover_of(old) if old is not None else None
    if old is None or new is None or mover is None or renames.new_name(old) != new:
        return frozenset()
    one = {key: value for key, value in before.items() if key not in ("list", "cue")}
    other = {key: value for key, value in after.items() if key not in ("list", "cue")}
    return frozenset({mover}) if same_value(one, other) else frozenset()


def _each(
    before: Tree, after: Tree, followed: Callable[[Tree, Tree], frozenset[Thing]]
) -> frozenset[Thing]:
    if not (isinstance(before, list) and isinstance(after, list) and len(before) == len(after)):
        return frozenset()
    movers: frozenset[Thing] = frozenset()
    for one, other in zip(before, after, strict=True):
        if not same_value(one, other):
            found = followed(one, other)
            if not found:
                return frozenset()
            movers |= found
    return movers
