"""Which cue list is which: by number, else by the cues it holds.

- Another number with the same fields and cues is the list moved, or copied where the old one is
  still there; with three quarters of its cues the same, and two at least, moved and changed; with
  two fifths of them where no other list has its name.
- A list that is no longer like what stands at its number may be moved too: two lists exchanged, or
  one given the number of another that is gone.
- Cues that moved with their list are part of that one change.
"""

from dataclasses import dataclass, field

from showvault.compare.fields import same_value
from showvault.compare.glances import holds_alike
from showvault.compare.likeness import NEARLY, NEARLY_BY_NAME, content_of
from showvault.compare.renames import Renames
from showvault.compare.sides import Side
from showvault.compare.strangers import only_ones
from showvault.show.addressing import Thing, thing_order

GLANCES = 16
"""So many cues of a list, or some more, are looked at to see that it is the same list."""

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
    scale = _Likeness(old, new, renames)
    home = [thing for thing in old.cues if thing in new.cues]
    gone = [thing for thing in old.cues if thing not in new.cues]
    come = [thing for thing in new.cues if thing not in old.cues]
    if len(home) > 1 or gone or come:
        strangers = [thing for thing in home if not scale.stays(thing)]
    else:
        strangers = []  # there is no other list that it could be
    sources, targets = (sorted([*things, *strangers], key=thing_order) for things in (gone, come))
    moved = _pair_likest(scale, sources, targets)
    arrived = set(moved.values())
    kept = [thing for thing in home if thing not in moved and thing not in arrived]
    left = [thing for thing in targets if thing not in arrived and thing not in kept]
    found = ListMatches(moved, _find_copies(scale, list(old.cues), left))
    found.pairs = [*((thing, thing) for thing in kept), *moved.items()]
    found.removed = [thing for thing in sources if thing not in moved and thing not in kept]
    found.added = [thing for thing in left if thing not in found.copied]
    return found


def _pair_likest(scale: "_Likeness", gone: list[Thing], come: list[Thing]) -> dict[Thing, Thing]:
    weighed = sorted(
        (-alike, thing_order(thing), thing_order(candidate), thing, candidate)
        for thing in gone
        for candidate in come
        if candidate != thing
        and (alike := scale.of(thing, candidate)) >= scale.needed(thing, candidate)
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

    def needed(self, one: Thing, other: Thing) -> float:
        """Return how like two lists have to be: less where nothing else has their name."""
        before = only_ones({thing: self._old.tree(thing) for thing in self._old.cues})
        after = only_ones({thing: self._new.tree(thing) for thing in self._new.cues})
        named_alike = any(before[name] == one and after.get(name) == other for name in before)
        return NEARLY_BY_NAME if named_alike else NEARLY

    def stays(self, thing: Thing) -> bool:
        """Tell at a glance whether a list is at its number still: by some of its cues."""
        before, after = self._old.cues[thing], set(self._new.cues[thing])
        if not before or not after:
            return True
        both = [cue for cue in before if cue in after]
        asked = both[:: max(1, len(both) // GLANCES)]
        alike = sum(1 for cue in asked if self._alike(cue))
        return 2 * alike >= len(asked) and len(both) > 0

    def _alike(self, cue: Thing) -> bool:
        if self._old.key(cue) == self._new.key(cue):
            return True
        one, other = self._old.glance(cue), self._new.glance(cue)
        return one is None or other is None or holds_alike(one, other, ("label", "levels"))

    def of(self, one: Thing, other: Thing) -> float:
        before = {cue.id: cue for cue in self._old.cues[one]}
        after = {cue.id: cue for cue in self._new.cues[other]}
        both = before.keys() & after.keys()
        if max(len(before), len(after)) * NEARLY_BY_NAME > len(both):
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
