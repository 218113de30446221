"""Older versions of the neutral show, lifted to this one on reading, never in the file itself."""

from collections.abc import Callable, Mapping

from showvault.show.model import FORMAT_VERSION
from showvault.show.trees import Tree

LIFTS: Mapping[int, Callable[[dict[str, Tree]], dict[str, Tree]]] = {}
"""From each older version the step to the next; version 1 is the first, so there is none yet."""


def lift_to_this_version(
    tree: Tree,
    lifts: Mapping[int, Callable[[dict[str, Tree]], dict[str, Tree]]] = LIFTS,
    newest: int = FORMAT_VERSION,
) -> Tree:
    """Return the show as the newest version says it; what has no step comes back as it is."""
    while isinstance(tree, dict):
        version = tree.get("format_version")
        if not isinstance(version, int) or version >= newest or version not in lifts:
            return tree
        tree = {**lifts[version](tree), "format_version": version + 1}
    return tree
