"""Who changed one thing, when and to what: back through its moves and renumberings.

Only the versions that changed the thing's own part are looked into, and of those only what differs.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

from showvault.compare.changes import Added, Change, Changed, Comparison, Copied, Moved, Removed
from showvault.compare.differ import compare_shows
from showvault.flows.stored import SHOW_FOLDER, SKELETON, parts_in_tree
from showvault.review.scales import scales_of
from showvault.review.values import Scales, no_scales
from showvault.show.addressing import Thing
from showvault.show.cutting import part_name
from showvault.show.parts import ShowParts
from showvault.show.trees import parse_part
from showvault.vault.store import Store
from showvault.vault.tracing import commits_changing
from showvault.vault.versions import Version, parent_of, read_version


@dataclass(frozen=True)
class Moment:
    """One version in which a thing changed, and what changed of it there."""

    version: Version
    thing: Thing
    """What it was called in that version."""
    comparison: Comparison
    scales: Scales = no_scales
    """The units in which its levels are said."""


def trace_thing(
    store: Store, thing: Thing, labels: Callable[[Version], Version]
) -> Iterator[Moment]:
    """Yield the versions that changed a thing, newest first; ``labels`` adds a version's labels.

    A thing that moved is followed to where it came from. What changed through something else (a cue
    before it, a preset it uses) is not its own history.
    """
    start = store.head()
    while start is not None:
        path = SKELETON if thing.kind in ("show", "cue_list") else SHOW_FOLDER + part_name(thing)
        came_from: tuple[str, Thing] | None = None
        for commit in commits_changing(store, path, start):
            before = parent_of(store, commit)
            old, new = _sides(store, before, commit, thing)
            comparison = compare_shows(old, new)
            mine = [change for change in comparison.changes if _concerns(change, thing)]
            if not mine and thing in new.parts and thing not in old.parts:
                mine = [Added(thing, parse_part(new.parts[thing].data))]  # with its whole list
            if mine:
                version = labels(read_version(store, commit))
                told = replace(comparison, changes=tuple(mine))
                yield Moment(version, thing, told, scales_of(_parts(store, commit)))
            moved = next((change for change in mine if isinstance(change, Moved)), None)
            if moved is not None and before is not None and moved.thing == thing:
                came_from = before, moved.from_
                break
            if before is None or any(
                isinstance(c, Added | Copied) and c.thing == thing for c in mine
            ):
                # What had the number before was another thing, and has another history.
                return
        start, thing = came_from if came_from is not None else (None, thing)


def of_attribute(moments: Iterable[Moment], attribute: str) -> Iterator[Moment]:
    """Yield the moments in which a thing came, went or moved, or what it stores of an attribute.

    Capitals do not count.
    """
    for moment in moments:
        kept = tuple(
            change
            for change in moment.comparison.changes
            if not isinstance(change, Changed)
            or attribute.lower() in [step.lower() for step in change.path]
        )
        if kept:
            yield replace(moment, comparison=replace(moment.comparison, changes=kept))


def _sides(
    store: Store, before: str | None, after: str, thing: Thing
) -> tuple[ShowParts, ShowParts]:
    """Return the thing alone where that tells all; where it came or went, who else did counts."""
    old, new = _parts(store, before), _parts(store, after)
    if not old.parts or (thing in old.parts and thing in new.parts):
        return _alone(old, thing), _alone(new, thing)
    return old, new


def _alone(show: ShowParts, thing: Thing) -> ShowParts:
    part = show.parts.get(thing)
    return replace(show, parts={} if part is None else {thing: part})


def _parts(store: Store, commit: str | None) -> ShowParts:
    tree = store.tree(commit)
    return parts_in_tree(tree, store.read_blob) if SKELETON in tree else ShowParts({}, {})


def _concerns(change: Change, thing: Thing) -> bool:
    match change:
        case Moved(new, old):
            return thing in (new, old)
        case Removed(old):
            return old == thing
        case _:
            return change.thing == thing
