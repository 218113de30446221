"""Parts of a comparison: one list, a range of cues, some kinds, some fixtures."""

from collections.abc import Collection
from dataclasses import replace

from showvault.compare.changes import (
    Added,
    Change,
    Changed,
    Comparison,
    Copied,
    Moved,
    Rekeyed,
    Removed,
)
from showvault.compare.references import references_in
from showvault.show.addressing import Kind, Thing, cue_order
from showvault.show.trees import Tree


def keep_kinds(comparison: Comparison, kinds: Collection[Kind]) -> Comparison:
    """Return the changes of things of these kinds."""
    return _keep(comparison, [c for c in comparison.changes if c.thing.kind in kinds])


def keep_lists(comparison: Comparison, lists: Collection[str]) -> Comparison:
    """Return the changes of these cue lists and their cues; a cue that moved counts for both."""
    return _keep(
        comparison,
        [c for c in comparison.changes if any(_list_of(t) in lists for t in _names(c))],
    )


def keep_cues(comparison: Comparison, first: str, last: str, cue_list: str = "1") -> Comparison:
    """Return the changes of the cues from ``first`` to ``last``, both included, of one list.

    A cue that moved into the range or out of it counts.
    """

    def wanted(thing: Thing) -> bool:
        inside = cue_order(first) <= cue_order(thing.id) <= cue_order(last)
        return thing.kind == "cue" and thing.list == cue_list and inside

    return _keep(comparison, [c for c in comparison.changes if any(map(wanted, _names(c)))])


def keep_fixtures(comparison: Comparison, fixtures: Collection[str]) -> Comparison:
    """Return the changes that are about these fixtures or their cells.

    That is their patch, their stored levels, and whole things that name them; a cell's number alone
    keeps that cell.
    """
    return _keep(comparison, [c for c in comparison.changes if _is_about(c, fixtures)])


def fixtures_of_group(group: Tree) -> frozenset[str]:
    """Return the numbers of a group's fixtures, given the group as it stands in a show."""
    members = group.get("fixtures") if isinstance(group, dict) else None
    return (
        frozenset(str(member) for member in members) if isinstance(members, list) else (frozenset())
    )


def _keep(comparison: Comparison, changes: list[Change]) -> Comparison:
    return replace(comparison, changes=tuple(changes))


def _names(change: Change) -> tuple[Thing, ...]:
    return (change.thing, change.from_) if isinstance(change, Moved) else (change.thing,)


def _list_of(thing: Thing) -> str:
    return thing.id if thing.kind == "cue_list" else thing.list


def _is_about(change: Change, fixtures: Collection[str]) -> bool:
    if any(thing.kind == "fixture" and thing.id in fixtures for thing in _names(change)):
        return True
    match change:
        case Changed():
            return _changed_is_about(change, fixtures)
        case Added(thing, tree) | Copied(thing, _, tree) | Removed(thing, tree):
            return _names_one(thing, tree, fixtures)
        case Moved(followed=followed):
            return any(
                isinstance(follower, Changed) and _changed_is_about(follower, fixtures)
                for follower in followed
            ) or any(
                isinstance(follower, Rekeyed) and {follower.before, follower.after} & {*fixtures}
                for follower in followed
            )


def _changed_is_about(change: Changed, fixtures: Collection[str]) -> bool:
    if change.level is not None:
        return _is_meant(change.level[0], fixtures)
    if change.inside == ("fixtures",):
        listed = [value for value in (change.before, change.after) if isinstance(value, list)]
        members = [{str(member) for member in value} for value in listed]
        differing = (
            set.symmetric_difference(*members) if len(members) == 2 else set().union(*members)
        )
        return any(_is_meant(member, fixtures) for member in differing)
    if change.inside[:1] == ("parts",):
        cue = Thing("cue", "")
        sides = ({"parts": {change.part: side}} for side in (change.before, change.after))
        return any(_names_one(cue, side, fixtures) for side in sides)
    return False


def _names_one(thing: Thing, tree: Tree, fixtures: Collection[str]) -> bool:
    if thing.kind == "cue_list":
        cues = tree.get("cues") if isinstance(tree, dict) else None
        held = cues.items() if isinstance(cues, dict) else ()
        return any(_names_one(Thing("cue", key, thing.id), cue, fixtures) for key, cue in held)
    return any(
        target.kind == "fixture" and _is_meant(_fixture_at(path, tree), fixtures)
        for path, target in references_in(thing, tree)
    )


def _fixture_at(path: tuple[str, ...], tree: Tree) -> str:
    """Return the fixture or cell that a reference names: a key, or a member of a list."""
    return str(tree["fixtures"][int(path[1])]) if path[0] == "fixtures" else path[-1]


def _is_meant(key: str, fixtures: Collection[str]) -> bool:
    return key in fixtures or key.partition(".")[0] in fixtures
