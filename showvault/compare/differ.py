"""What differs between two shows: every true difference once, and nothing that did not happen.

Parts with equal keys are never read. Unequal bytes are only a hint: such parts are decoded, and
order of keys, spacing, 50 and 50.0 are no difference.
"""

from collections.abc import Iterator

from showvault.compare.changes import Added, Change, Changed, Comparison, Removed
from showvault.compare.fields import find_differences
from showvault.compare.shape import shape_of
from showvault.compare.sides import SHOW, Side
from showvault.show.addressing import Thing, thing_order
from showvault.show.parts import ShowParts


def compare_shows(before: ShowParts, after: ShowParts) -> Comparison:
    """Return every change that leads from one show to the other, in the order of a show.

    Raises NotUnderstoodError where a thing is nested deeper than anything is followed.
    """
    old, new = Side(before), Side(after)
    changes: list[Change] = [*_changed(SHOW, old, new)]
    for thing in old.things():
        if thing not in new:
            if not (thing.kind == "cue" and Thing("cue_list", thing.list) not in new):
                changes.append(Removed(thing, old.whole(thing)))
        elif thing.kind == "cue_list" or old.key(thing) != new.key(thing):
            changes.extend(_changed(thing, old, new))
    for thing in new.things():
        if thing not in old and not (
            thing.kind == "cue" and Thing("cue_list", thing.list) not in old
        ):
            changes.append(Added(thing, new.whole(thing)))
    return Comparison(tuple(sorted(changes, key=lambda change: thing_order(change.thing))))


def _changed(thing: Thing, old: Side, new: Side) -> Iterator[Changed]:
    for path, one, other in find_differences(
        shape_of(thing.kind), old.tree(thing), new.tree(thing)
    ):
        yield Changed(thing, path, one, other)
