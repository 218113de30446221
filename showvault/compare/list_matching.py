"""Which cue list is which: by number, else by the cues it holds.

- Another number with the same fields and cues is the list moved, or copied where the old one is
  still there; with three quarters of its cues the same, and two at least, moved and changed.
- Cues that moved with their list are part of that one change.
"""

from dataclasses import dataclass, field

from showvault.compare.fields import same_value
from showvault.compare.likeness import NEARLY, content_of
from showvault.compare.renames import Renames
from showvault.compare.sides import Side
from showvault.show.addressing import Thing, thing_order

CUES_AT_LEAST = 2
"""A list with fewer equal cues is not recognised by them."""


@dataclass
class ListMatches:
    """Which list is which; ``pairs`` are all old and new names of one list."""

    moved: dict[Thing, Thing] = field(default_factory=dict)
    copied: dict[Thing, Thing] = field(default_factory=dict)
    removed: list[Thing] = field(default_factory=list)
    added: list[Thing] = field(default_factory=list)
    pairs: list[tuple[Thing, Thing]] = field(default_factory=list)


def match_lists(old: Side, new: Side, renames: Renames) -> ListMatches:
    """Find for every cue list what became of it; ``renames`` are those of what cues name."""
    found = ListMatches(pairs=[(thing, thing) for thing in old.cues if thing in new.cues])
    gone = sorted((thing for thing in old.cues if thing not in new.cues), key=thing_order)
    come = sorted((thing for thing in new.cues if thing not in old.cues), key=thing_order)
    if come:
        scale = _Likeness(old, new, renames)
        found.moved = _pair_likest(scale, gone, come)
        found.copied = _find_copies(
            scale, list(old.cues), [thing for thing in come if thing not in found.moved.values()]
        )
        found.pairs += found.moved.items()
    arrived = {*found.moved.values(), *found.copied}
    found.removed = [thing for thing in gone if thing not in found.moved]
    found.added = [thing for thing in come if thing not in arrived]
    return found


def _pair_likest(scale: "_Likeness", gone: list[Thing], come: list[Thing]) -> dict[Thing, Thing]:
    weighed = sorted(
        (-alike, thing_order(thing), thing_order(candidate), thing, candidate)
        for thing in gone
        for candidate in come
        if (alike := scale.of(thing, candidate)) >= NEARLY
    )
    moved: dict[Thing, Thing] = {}
    for *_, thing, candidate in weighed:
        if thing not in moved and candidate not in moved.values():
            moved[thing] = candidate
    return moved


def _find_copies(scale: "_Likeness", held: list[Thing], come: list[Thing]) -> dict[Thing, Thing]:
    copied = {}
    for thing in come:
        original = next((one for one in held if scale.of(one, thing) == 1), None)
        if original is not None:
            copied[thing] = original
    return copied


class _Likeness:
    """The share of equal cues of two lists; 1 only where the lists' own fields are equal too."""

    def __init__(self, old: Side, new: Side, renames: Renames) -> None:
        self._old, self._new, self._blurred = old, new, renames.blurred()

    def of(self, one: Thing, other: Thing) -> float:
        before = {cue.id: cue for cue in self._old.cues[one]}
        after = {cue.id: cue for cue in self._new.cues[other]}
        both = before.keys() & after.keys()
        if max(len(before), len(after)) * NEARLY > len(both):
            return 0.0
        same = sum(1 for number in both if self._equal(before[number], after[number]))
        if same == len(before) == len(after) and same_value(
            self._old.tree(one), self._new.tree(other)
        ):
            return 1.0 if before or self._old.tree(one) else 0.0
        if same < CUES_AT_LEAST:
            return 0.0
        return min(same / max(len(before), len(after)), 0.99)

    def _equal(self, one: Thing, other: Thing) -> bool:
        if self._old.key(one) == self._new.key(other):
            return True
        before, after = self._old.tree(one), self._new.tree(other)
        return content_of("cue", before, self._blurred) == content_of("cue", after, self._blurred)
