"""Lists that are sets of members with an order: a group's fixtures, a fixture type's hazards.

- What either side took out is out; what either side put in is in, behind the member that it stood
  behind on its side.
- Where both put members in at one place, the run whose first member has the lower number is first.
- One side may have changed the order; if both did, differently, the list is one value.
- A list that names a member twice, or is not a list, is one value.

Common practice, no source. Swapping the sides gives the same list.
"""

from collections.abc import Sequence

from showvault.show.addressing import place_order
from showvault.show.trees import Tree

SETS = frozenset({"fixtures", "hazards", "invert"})
"""The fields that hold such lists; channels, addresses, steps and all other lists are one value."""

_Runs = dict[str | None, list[str]]


def merge_members(base: Tree, mine: Tree, theirs: Tree) -> list[Tree] | None:
    """Return the list that holds both sides' changes; None where it has to be one value."""
    lists = (base or [], mine or [], theirs or [])
    if not all(isinstance(held, list) for held in lists):
        return None
    named = [[str(member) for member in held] for held in lists]
    if any(len(set(names)) < len(names) for names in named):
        return None
    order = _common_order(*named)
    if order is None:
        return None
    kept = {name for name in named[0] if all(name in names for names in named[1:])}
    runs = [_runs(named[0], names) for names in named[1:]]
    merged: list[str] = []
    for anchor in (None, *order):
        if anchor in kept:
            merged.append(str(anchor))
        both = sorted((of_side.get(anchor, []) for of_side in runs), key=_run_order)
        merged += [name for run in both for name in run if name not in merged]
    written = {str(member): member for held in reversed(lists) for member in held}
    return [written[name] for name in dict.fromkeys(merged)]


def _common_order(base: list[str], mine: list[str], theirs: list[str]) -> list[str] | None:
    """Return the order of the base's members; None where both sides changed it differently."""
    orders = []
    for names in (mine, theirs):
        held, before = [name for name in names if name in base], [n for n in base if n in names]
        if held != before:
            orders.append(_with_missing(held, base))
    if len(orders) == 2 and orders[0] != orders[1]:
        return None
    return orders[0] if orders else base


def _with_missing(held: list[str], base: list[str]) -> list[str]:
    """Return a new order of the base, each member it lacks behind the one it stood behind."""
    order = list(held)
    for place, name in enumerate(base):
        if name not in order:
            order.insert(order.index(base[place - 1]) + 1 if place else 0, name)
    return order


def _runs(base: Sequence[str], names: Sequence[str]) -> _Runs:
    """Return a side's additions by the member of the base that they stand behind."""
    runs: _Runs = {}
    anchor: str | None = None
    for name in names:
        if name in base:
            anchor = name
        else:
            runs.setdefault(anchor, []).append(name)
    return runs


def _run_order(run: Sequence[str]) -> list[tuple[int, int, str]]:
    return [place_order(name) for name in run]
