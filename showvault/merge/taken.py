"""Numbers that two things have once both sides' edits are in: who keeps it is a decision.

Whoever loses it goes back to the number it has on the other side; a new thing is left out. The same
new thing on both sides is one thing.
"""

from collections.abc import Iterator, Mapping

from msgspec import UNSET

from showvault.compare.changes import Added
from showvault.compare.fields import find_differences
from showvault.compare.shape import shape_of
from showvault.compare.sides import Side
from showvault.merge.conflicts import Decisions, conflict_of_numbers
from showvault.merge.contents import Content, tree_of
from showvault.merge.identity import One, Origin, WhoIsWho, find_shared_names, name_on
from showvault.review.wording import say_change
from showvault.show.addressing import Thing, say_thing, thing_order
from showvault.show.trees import Tree


def settle_shared_names(
    sides: Mapping[Origin, Side],
    who: WhoIsWho,
    things: dict[One, Content],
    decisions: Decisions,
    dropped: set[One],
) -> bool:
    """Settle every number that two things have; tell whether anything was given another number."""
    changed = False
    for name, holders in find_shared_names(things):
        mine = _claimant(holders, "mine")
        theirs = next((one for one in _claims(holders, "theirs") if one is not mine), holders[-1])
        if _same_new_thing(sides, things, mine, theirs):
            dropped.add(theirs)
            changed = True
            continue
        told = (_claim(sides, mine, "mine"), _claim(sides, theirs, "theirs"))
        trees = (_tree_on(sides, mine, "mine"), _tree_on(sides, theirs, "theirs"))
        conflict = conflict_of_numbers(name, _base_at(sides, name), *trees, told)
        choice = decisions.settle(conflict)
        for one in holders:
            if one.on(choice) is None:
                dropped.add(one)
            elif one.base is not None:
                one.name = name_on(one, choice, who)
        changed = True
    return changed


def _claims(holders: list[One], origin: Origin) -> Iterator[One]:
    """Yield those whose number a side chose, what it made of its own first."""
    ordered = sorted(holders, key=lambda one: thing_order(one.any_name))
    yield from (one for one in ordered if one.on(origin) is not None and one.base is None)
    yield from (one for one in ordered if one.on(origin) is not None and one.base is not None)


def _claimant(holders: list[One], origin: Origin) -> One:
    by_choice = [
        one for one in _claims(holders, origin) if one.base is None or one.on(origin) != one.base
    ]
    return next(iter([*by_choice, *_claims(holders, origin)]), holders[0])


def _same_new_thing(
    sides: Mapping[Origin, Side], things: Mapping[One, Content], mine: One, theirs: One
) -> bool:
    if mine.base is not None or theirs.base is not None or mine is theirs:
        return False
    one, other = (tree_of(sides, things[new]) for new in (mine, theirs))
    return next(iter(find_differences(shape_of(mine.name.kind), one, other)), None) is None


def _claim(sides: Mapping[Origin, Side], one: One, origin: Origin) -> str:
    if one.base is not None:
        return f"what was {say_thing(one.base)}"
    return say_change(Added(one.name, _tree_on(sides, one, origin)))


def _tree_on(sides: Mapping[Origin, Side], one: One, origin: Origin) -> Tree:
    thing = one.on(origin)
    return UNSET if thing is None else sides[origin].tree(thing)


def _base_at(sides: Mapping[Origin, Side], name: Thing) -> Tree:
    return sides["base"].tree(name) if name in sides["base"] else UNSET
