"""Equal contents at other numbers, as chains: each thing goes where the next one stood."""

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Mapping
from typing import TypeAlias

from showvault.show.addressing import Thing

Key: TypeAlias = Callable[[Thing], Hashable]
"""What tells the content of a thing from others."""

Chain: TypeAlias = list[tuple[Thing, Thing]]
"""Old names and the names at which their content stands now."""


def find_chains(
    old_key: Key,
    new_key: Key,
    old: Iterable[Thing],
    new: Iterable[Thing],
    at_home: Mapping[Thing, Thing],
) -> list[Chain]:
    """Return where contents went that stand once on either side, and not at their own number.

    ``at_home`` maps new names to the old names of what has that number on both sides.
    """
    sources, targets = by_key(old_key, old), by_key(new_key, new)
    edges = {}
    for key, found in sources.items():
        there = targets.get(key, [])
        if len(found) == 1 and len(there) == 1 and at_home.get(there[0]) != found[0]:
            edges[found[0]] = there[0]
    return _in_order(edges, at_home)


def by_key(key: Key, things: Iterable[Thing]) -> dict[Hashable, list[Thing]]:
    """Return things by their content."""
    found: dict[Hashable, list[Thing]] = defaultdict(list)
    for thing in things:
        found[key(thing)].append(thing)
    return found


def _in_order(edges: Mapping[Thing, Thing], at_home: Mapping[Thing, Thing]) -> list[Chain]:
    """Return the chains from their beginnings; circles come last."""
    after = {source: at_home.get(target) for source, target in edges.items()}
    reached = set(after.values())
    chains: list[Chain] = []
    done: set[Thing] = set()
    for start in [*(source for source in edges if source not in reached), *edges]:
        chain: Chain = []
        source: Thing | None = start
        while source is not None and source in edges and source not in done:
            done.add(source)
            chain.append((source, edges[source]))
            source = after[source]
        if chain:
            chains.append(chain)
    return chains
