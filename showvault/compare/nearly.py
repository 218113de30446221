"""Which of the things that are gone and of those that are new are one that moved and changed.

Candidates are found by the values they share, so that the cost follows the values and not the
number of pairs; the likest pair is taken first. Where only one of each has a name, less will do;
a fixture is known by such a name alone, whatever lamp hangs there now.
"""

from collections import Counter, defaultdict
from collections.abc import Mapping

from showvault.compare.likeness import (
    BESIDE_NAME_AT_LEAST,
    NEARLY,
    NEARLY_BY_NAME,
    SHARED_AT_LEAST,
    Traits,
    likeness,
    renamed_traits,
    shared,
    traits_of,
)
from showvault.compare.renames import Renames
from showvault.compare.strangers import only_ones
from showvault.show.addressing import Kind, Thing
from showvault.show.trees import Tree

COMMON = 50
"""A value that so many new things have tells nothing about who is who."""

CANDIDATES = 4
"""How many of the likest are weighed in full for each thing."""


def match_nearly(
    kind: Kind, gone: Mapping[Thing, Tree], come: Mapping[Thing, Tree], renames: Renames
) -> dict[Thing, Thing]:
    """Return old name to new name of things that are nearly the same."""
    blurred = renames.blurred()
    old, new = (
        {thing: renamed_traits(blurred, traits_of(kind, tree)) for thing, tree in side.items()}
        for side in (gone, come)
    )
    ranks = {thing: rank for rank, thing in enumerate([*old, *new])}
    before, after = only_ones(gone), only_ones(come)
    of_one_name = {(thing, after[name]) for name, thing in before.items() if name in after}
    weighed = []
    for thing, candidate in of_one_name.union(_candidates(old, new)):
        one, other = old[thing], new[candidate]
        alike = likeness(one, other)
        named = (thing, candidate) in of_one_name
        if (named and kind == "fixture") or (
            alike >= (NEARLY_BY_NAME if named else NEARLY)
            and shared(one, other) >= (BESIDE_NAME_AT_LEAST if named else SHARED_AT_LEAST)
            and _plausible(kind, gone[thing], come[candidate])
        ):
            weighed.append((-alike, ranks[thing], ranks[candidate], thing, candidate))
    found: dict[Thing, Thing] = {}
    taken: set[Thing] = set()
    for *_, thing, candidate in sorted(weighed):
        if thing not in found and candidate not in taken:
            found[thing] = candidate
            taken.add(candidate)
    return found


def _candidates(
    old: Mapping[Thing, Traits], new: Mapping[Thing, Traits]
) -> list[tuple[Thing, Thing]]:
    holders: dict[object, list[Thing]] = defaultdict(list)
    for thing, traits in new.items():
        for trait in traits:
            holders[trait].append(thing)
    pairs = []
    for thing, traits in old.items():
        votes: Counter[Thing] = Counter()
        for trait in traits:
            found = holders.get(trait, ())
            if len(found) <= COMMON:
                votes.update(found)
        pairs += [(thing, candidate) for candidate, _ in votes.most_common(CANDIDATES)]
    return pairs


def _plausible(kind: Kind, before: Tree, after: Tree) -> bool:
    """Tell whether two things can be one: fixtures of one type resemble each other too easily.

    A fixture is known by where it is patched or by its name.
    """
    if kind != "fixture":
        return True
    same = [field for field in ("addresses", "name") if before.get(field) == after.get(field)]
    return any(before.get(field) for field in same)
