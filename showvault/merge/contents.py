"""What each thing is once both sides' edits are in it, under the names that things have now.

- Parts with equal bytes are never decoded. Where something got another number, all that names it is
  read in the numbers of the merged show, so that one may renumber while the other edits.
- A side that removed a thing wins over one that left it alone or only renumbered it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TypeAlias

from msgspec import UNSET

from showvault.compare.changes import Path
from showvault.compare.fields import find_differences, same_value
from showvault.compare.shape import shape_of
from showvault.compare.sides import Side
from showvault.merge.conflicts import (
    Conflict,
    Decisions,
    conflict_of_removal,
    conflict_of_value,
)
from showvault.merge.identity import ORIGINS, One, Origin, WhoIsWho
from showvault.merge.parameters import settle_parameters
from showvault.merge.renaming import rename_references
from showvault.merge.three_way import Clash, merge_tree
from showvault.show.addressing import Thing
from showvault.show.trees import Tree


@dataclass(frozen=True)
class AsInMine:
    """A thing that is what it is in mine, byte for byte, perhaps under another number."""

    thing: Thing


@dataclass(frozen=True)
class Written:
    """A thing that is not as it is in mine: its own fields as a tree."""

    tree: Tree


Content: TypeAlias = AsInMine | Written


def tree_of(sides: Mapping[Origin, Side], content: Content) -> Tree:
    """Return a thing's own fields."""
    match content:
        case AsInMine(thing):
            return sides["mine"].tree(thing)
        case Written(tree):
            return tree


@dataclass(frozen=True)
class Contents:
    """The contents of every thing, with the names as they are now."""

    sides: Mapping[Origin, Side]
    who: WhoIsWho
    decisions: Decisions
    dropped: set[One]
    _renaming: dict[Origin, bool] = field(default_factory=dict)

    def of_all(self) -> dict[One, Content]:
        """Return what is in the merged show; lists last, as they may be needed by their cues."""
        for origin in ORIGINS:
            self._renaming[origin] = any(
                one.name != one.on(origin) for one in self.who.by_name[origin].values()
            )
        found: dict[One, Content] = {}
        for one in self.who.everyone:
            content = None if one in self.dropped else self._content(one)
            if content is not None:
                found[one] = content
        self._keep_lists_whole(found)
        return found

    def _content(self, one: One) -> Content | None:
        match (one.base, one.mine, one.theirs):
            case (None, Thing() as mine, None):
                return self._as_in_mine(one, mine)
            case (None, None, Thing()):
                return Written(self._tree(one, "theirs"))
            case (Thing(), None, None):
                return None
            case (Thing(), None, Thing()):
                return self._unless_removed(one, "theirs")
            case (Thing(), Thing(), None):
                return self._unless_removed(one, "mine")
            case (_, Thing() as mine, Thing()):
                return self._of_both(one, mine)
            case _:
                return None

    def _of_both(self, one: One, mine: Thing) -> Content:
        if self._untouched(one, "mine", "theirs") and self._untouched(one, "base", "theirs"):
            return AsInMine(mine)
        if self._untouched(one, "base", "theirs") and not any(self._renaming.values()):
            return AsInMine(mine)
        trees = {o: self._tree(one, o) if one.on(o) is not None else {} for o in ORIGINS}
        merged = self.merged(one.name, trees)
        if one.name.kind == "cue":
            merged = settle_parameters(one.name, trees, merged, self.decisions)
        unchanged = same_value(merged, self.sides["mine"].tree(mine))
        return AsInMine(mine) if unchanged else Written(merged)

    def merged(self, thing: Thing, trees: Mapping[Origin, Tree]) -> Tree:
        """Merge one thing's own fields, asking for what both sides set."""

        def settle(path: Path, clash: Clash[Tree]) -> Tree:
            sides = (clash.base, clash.ours, clash.theirs)
            conflict = conflict_of_value(thing, path, *sides, self.decisions.scales)
            return conflict.side(self.decisions.settle(conflict))

        shape = shape_of(thing.kind)
        return merge_tree(shape, trees["base"], trees["mine"], trees["theirs"], settle)

    def _unless_removed(self, one: One, kept: Origin) -> Content | None:
        """One side removed it: it stays only if the other side edited it and that is decided."""
        if self._untouched(one, "base", kept):
            return None
        base, edited = self._tree(one, "base"), self._tree(one, kept)
        edits = list(find_differences(shape_of(one.name.kind), base, edited))
        did = [f"changed {_count(len(edits), 'field')} of it"] if edits else []
        if one.name.kind == "cue_list":
            put_in = self._new_cues(one, kept)
            did += [f"put {_count(len(put_in), 'cue')} into it"] if put_in else []
        if not did:
            return None
        conflict = conflict_of_removal(one.name, base, edited, kept, " and ".join(did))
        return self._chosen(one, conflict)

    def _chosen(self, one: One, conflict: Conflict) -> Content | None:
        choice = self.decisions.settle(conflict)
        value = conflict.side(choice)
        if value is UNSET:
            return None
        if choice == "mine" and one.mine is not None:
            return self._as_in_mine(one, one.mine)
        return Written(value)

    def _as_in_mine(self, one: One, mine: Thing) -> Content:
        if not self._renaming["mine"]:
            return AsInMine(mine)
        tree = self._tree(one, "mine")
        return AsInMine(mine) if tree == self.sides["mine"].tree(mine) else Written(tree)

    def _keep_lists_whole(self, found: dict[One, Content]) -> None:
        """Take new cues out whose list is out; keep the lists of all other cues."""
        there = {one.name for one in found}
        for one in [one for one in found if one.name.kind == "cue" and one.base is None]:
            if Thing("cue_list", one.name.list) not in there:
                del found[one]
        lists = {one.name: one for one in self.who.everyone if one.name.kind == "cue_list"}
        for one in [one for one in found if one.name.kind == "cue"]:
            needed = Thing("cue_list", one.name.list)
            if needed not in there and needed in lists:
                cue_list = lists[needed]
                origin: Origin = "theirs" if cue_list.mine is None else "mine"
                found[cue_list] = Written(self._tree(cue_list, origin))
                there.add(needed)

    def _new_cues(self, cue_list: One, origin: Origin) -> list[One]:
        own = cue_list.on(origin)
        return [
            one
            for thing, one in self.who.by_name[origin].items()
            if own is not None and thing.list == own.id and one.base is None
        ]

    def _untouched(self, one: One, origin: Origin, other: Origin) -> bool:
        """Tell whether two sides are known to have the same bytes."""
        before, after = one.on(origin), one.on(other)
        if before is None or after is None or before.kind == "cue_list":
            return False
        return self.sides[origin].key(before) == self.sides[other].key(after)

    def _tree(self, one: One, origin: Origin) -> Tree:
        """Return a thing of one side with all that it names called as in the merged show."""
        thing = one.on(origin)
        if thing is None:
            return UNSET
        tree = self.sides[origin].tree(thing)
        if not self._renaming[origin]:
            return tree
        return rename_references(
            tree, thing, one.name, lambda named: self.who.new_name(origin, named)
        )


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
