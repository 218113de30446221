"""What differs between two shows: every true difference once, and nothing that did not happen.

Parts with equal keys are never decoded. Unequal bytes are only a hint: such parts are decoded, and
order of keys, spacing, 50 and 50.0 are no difference. Where something moved, parts that could still
name its old number are looked into as well.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import replace

from showvault.compare.changes import (
    Added,
    Change,
    Changed,
    Comparison,
    Copied,
    Follower,
    Moved,
    Path,
    Rekeyed,
    Removed,
    Stayed,
)
from showvault.compare.fields import find_differences
from showvault.compare.following import Followers
from showvault.compare.glances import trees_that_differ
from showvault.compare.matches import Matches
from showvault.compare.matching import match_things
from showvault.compare.renames import Renames, followed_keys, movers_followed
from showvault.compare.runs import number_runs
from showvault.compare.shape import shape_of
from showvault.compare.sides import SHOW, Side
from showvault.compare.stays import find_stayed
from showvault.show.addressing import Thing, thing_order
from showvault.show.parts import ShowParts
from showvault.show.trees import Tree


def compare_shows(before: ShowParts, after: ShowParts) -> Comparison:
    """Return every change that leads from one show to the other, in the order of a show.

    Raises NotUnderstoodError where a thing is nested deeper than anything is followed.
    """
    old, new = Side(before), Side(after)
    matches = match_things(old, new)
    pairs = _Pairs(old, new, matches.renames)
    changes: list[Change] = []
    for one, other in [(SHOW, SHOW), *matches.unequal]:
        changes += pairs.changes(one, other)
        old.forget(one)
        new.forget(other)
    changes += _come_and_gone(matches, old, new)
    if matches.moved:
        changes += _moved(matches, old, new, pairs)
    return Comparison(tuple(sorted(changes, key=_order)))


def _order(change: Change) -> tuple[object, ...]:
    """Order by thing; that it came or moved is told before what changed in it."""
    return (thing_order(change.thing), isinstance(change, Changed))


def _come_and_gone(matches: Matches, old: Side, new: Side) -> Iterator[Change]:
    left, arrived = frozenset(matches.moved), frozenset(matches.moved.values())
    for thing in matches.removed:
        yield Removed(thing, old.whole(thing, left))
    for thing in matches.added:
        yield Added(thing, new.whole(thing, arrived))
    for thing, from_ in matches.copied.items():
        yield Copied(thing, from_, new.whole(thing, arrived))


class _Pairs:
    """Finds what differs in things that are in both shows, and what only followed a move."""

    def __init__(self, old: Side, new: Side, renames: Renames) -> None:
        self._old, self._new, self._renames = old, new, renames
        self.followers: dict[Thing, list[Follower]] = defaultdict(list)
        """The references that followed each moved thing (old name)."""

    def changes(self, one: Thing, other: Thing) -> list[Changed]:
        """Return what differs in a thing; what only followed a move is put to ``followers``."""
        return _drawn_together(self._changes(one, other))

    def _changes(self, one: Thing, other: Thing) -> Iterator[Changed]:
        def rekey(path: Path, before: dict[str, Tree], after: dict[str, Tree]) -> dict[str, Tree]:
            followed = followed_keys(self._renames, path, before, after)
            for key, new_key in followed.items():
                target = self._renames.key_target(path, key)
                self.followers[target].append(Rekeyed(other, path, key, new_key))
            return {followed.get(key, key): value for key, value in before.items()}

        shape = shape_of(one.kind)
        if not self._renames:
            for path, was, is_now in find_differences(shape, *self._unequal(one, other)):
                yield Changed(other, path, was, is_now)
            return
        before, after = self._old.tree(one), self._new.tree(other)
        for path, was, is_now in find_differences(shape, before, after, rekey):
            change = Changed(other, path, was, is_now)
            movers = movers_followed(
                self._renames, change.inside, was, is_now, (one.list, other.list)
            )
            for mover in movers:
                self.followers[mover].append(change)
            if not movers:
                yield change

    def _unequal(self, one: Thing, other: Thing) -> tuple[Tree, Tree]:
        """Return two things to be compared, without what is written alike in both."""
        if not (self._old.has_read(one) or self._new.has_read(other)):
            told = trees_that_differ(self._old.glance(one), self._new.glance(other))
            if told is not None:
                return told
        return self._old.tree(one), self._new.tree(other)


def _drawn_together(changes: Iterable[Changed]) -> list[Changed]:
    """Return changes of one thing, those that are one edit as one: a fixture's type and mode."""
    found = list(changes)
    by_path = {change.path: change for change in found if change.thing.kind == "fixture"}
    exchanged, mode = by_path.get(("type",)), by_path.get(("mode",))
    if exchanged is None or mode is None:
        return found
    together = replace(exchanged, along=(mode,))
    return [together if one is exchanged else one for one in found if one is not mode]


def _moved(matches: Matches, old: Side, new: Side, pairs: "_Pairs") -> Iterator[Moved]:
    stayed = find_stayed(matches, old, new)
    runs = number_runs(matches.moved, list(old.things()), list(new.things()))
    for from_, thing in matches.moved.items():
        yield Moved(
            thing,
            from_,
            _followers(matches, old, new, from_, pairs.followers[from_]),
            tuple(sorted(stayed.get(from_, ()), key=_place)),
            runs.get(from_),
        )


def _followers(
    matches: Matches, old: Side, new: Side, mover: Thing, known: list[Follower]
) -> Followers:
    pending = [pair for pair, movers in matches.only_followed.items() if mover in movers]

    def find() -> Iterator[Follower]:
        for one, other in pending:
            pairs = _Pairs(old, new, matches.renames)
            for _ in pairs.changes(one, other):  # there are none: they differ in names alone
                pass
            old.forget(one)
            new.forget(other)
            yield from pairs.followers[mover]

    return Followers(known, [other for _, other in pending], find)


def _place(reference: Stayed) -> tuple[object, ...]:
    return (thing_order(reference.thing), reference.path)
