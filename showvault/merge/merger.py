"""Two shows made from one, put together: an edit of either side is in the result or in a conflict.

What nobody decided is provisionally as it is in mine.
"""

import itertools
from collections.abc import Mapping
from dataclasses import dataclass

from showvault.compare.fields import same_value
from showvault.compare.sides import SHOW, Side
from showvault.merge.addresses import Patch, settle_addresses
from showvault.merge.conflicts import Choice, Conflict, Decide, Decisions, always, leave_open
from showvault.merge.contents import AsInMine, Content, Contents, Written, tree_of
from showvault.merge.identity import One, Origin, WhoIsWho, find_who_is_who
from showvault.merge.insertion import follow_neighbours, forget_neighbours
from showvault.merge.taken import settle_shared_names
from showvault.review.scales import scales_of
from showvault.show.addressing import Thing, say_thing
from showvault.show.cutting import CutShow
from showvault.show.parts import ShowParts, parts_of
from showvault.show.splicing import KeptPart, splice_show
from showvault.show.trees import Tree

TRIES = 50
"""How often decisions may lead to the next number that is taken before all keep mine's numbers."""


@dataclass(frozen=True)
class Merged:
    """A merged show: every thing by its number, and what is left to decide."""

    show: Tree
    """The show's own fields."""
    things: Mapping[Thing, Content]
    """Numbered things; a cue list without its cues."""
    conflicts: tuple[Conflict, ...]
    """What nobody decided; provisionally as in mine."""
    decided: tuple[tuple[Conflict, Choice], ...] = ()

    def differs_from(self, mine: CutShow, written: CutShow) -> str:
        """Say where bytes that were spliced are not this show; empty where they are."""
        side = Side(parts_of(written))
        if not same_value(side.tree(SHOW), self.show):
            return "the show's own fields"
        if set(side.things()) != set(self.things):
            return "things came or went"
        for thing, content in self.things.items():
            match content:
                case AsInMine(kept) if thing.kind != "cue_list":
                    same = written.parts[written.names[thing]] == mine.parts[mine.names[kept]]
                case AsInMine(kept):
                    same = same_value(side.tree(thing), Side(parts_of(mine)).tree(kept))
                case Written(tree):
                    same = same_value(side.tree(thing), tree)
            if not same:
                return say_thing(thing)
        return ""


def merge_shows(
    base: ShowParts, mine: ShowParts, theirs: ShowParts, decide: Decide = leave_open
) -> Merged:
    """Return the show that holds what both sides made of the base, and the conflicts left.

    All three have to be understood (show.reading). The keys of parts compare across the three.
    """
    sides: dict[Origin, Side] = {"base": Side(base), "mine": Side(mine), "theirs": Side(theirs)}
    scales = scales_of(mine)
    names = Decisions(decide, scales)
    who = find_who_is_who(sides, names)
    follow_neighbours(who)
    dropped: set[One] = set()
    for attempt in itertools.count():
        contents = Decisions(decide, scales)
        all_contents = Contents(sides, who, contents, dropped)
        things = all_contents.of_all()
        settler = names if attempt < TRIES else Decisions(always("mine"))
        if attempt == TRIES:
            forget_neighbours(who)
        if not settle_shared_names(sides, who, things, settler, dropped):
            break
    show = all_contents.merged(SHOW, {origin: side.tree(SHOW) for origin, side in sides.items()})
    by_name = {one.name: content for one, content in things.items()}
    if all(_patch_differs(sides, origin) for origin in ("mine", "theirs")):
        by_name |= _settle_patch(sides, who, by_name, contents)
    conflicts = sorted([*names.open, *contents.open], key=lambda conflict: conflict.pointer)
    return Merged(show, by_name, tuple(conflicts), (*names.made, *contents.made))


def _patch_differs(sides: Mapping[Origin, Side], origin: Origin) -> bool:
    base, other = (
        {
            thing: side.key(thing)
            for thing in side.parts
            if thing.kind in ("fixture", "fixture_type")
        }
        for side in (sides["base"], sides[origin])
    )
    return base != other


def _settle_patch(
    sides: Mapping[Origin, Side],
    who: WhoIsWho,
    things: Mapping[Thing, Content],
    decisions: Decisions,
) -> dict[Thing, Content]:
    """Return the fixtures whose addresses change so that no two take the same."""
    patches: dict[Origin, Patch] = {}
    for origin, side in sides.items():
        trees = {
            one.name if thing.kind == "fixture" else thing: side.tree(thing)
            for thing, one in who.by_name[origin].items()
            if thing.kind in ("fixture", "fixture_type")
        }
        patches[origin] = _patch(trees)
    now = _patch(
        {
            name: tree_of(sides, content)
            for name, content in things.items()
            if name.kind in ("fixture", "fixture_type")
        }
    )
    anew = settle_addresses(now, patches, decisions)
    return {Thing("fixture", number): Written(tree) for number, tree in anew.items()}


def _patch(trees: Mapping[Thing, Tree]) -> Patch:
    return Patch(
        {thing.id: tree for thing, tree in trees.items() if thing.kind == "fixture"},
        {thing.id: tree for thing, tree in trees.items() if thing.kind == "fixture_type"},
    )


def write_merged(mine: CutShow, merged: Merged) -> bytes:
    """Return the merged show as bytes: mine's file with the other side's edits spliced in."""
    lists: dict[str, Tree] = {}
    parts: dict[Thing, Tree | KeptPart] = {}
    side = Side(parts_of(mine))
    for thing, content in merged.things.items():
        match content:
            case _ if thing.kind == "cue_list":
                lists[thing.id] = tree_of({"mine": side}, content)
            case AsInMine(kept):
                parts[thing] = KeptPart(mine.names[kept])
            case Written(tree):
                parts[thing] = tree
    return splice_show(mine, merged.show, lists, parts)
