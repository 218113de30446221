"""Where a new cue stands in a list that the other side renumbered: among its old neighbours.

Left at its own number it would play before or after all of them. It gets the step by which its
neighbours were renumbered: the one before it if that keeps it between them, else the one after it.
Common practice, no source.
"""

from bisect import bisect
from collections import defaultdict
from collections.abc import Iterable, Iterator
from decimal import Decimal

from showvault.merge.identity import One, Origin, WhoIsWho, name_on
from showvault.show.addressing import Thing, cue_order

_PLACES = Decimal("0.001")
_MOST = Decimal(10) ** 9


def follow_neighbours(who: WhoIsWho) -> None:
    """Give new cues a number among their neighbours where those were renumbered."""
    for origin in ("mine", "theirs"):
        for new, old in _by_list(who, origin):
            if any(one.name != name_on(one, origin, who) for one in old):
                for one in new:
                    _follow(one, old, origin, who)


def forget_neighbours(who: WhoIsWho) -> None:
    """Give new cues back the numbers that their own side gave them."""
    for one in who.everyone:
        if one.base is None:
            one.name = name_on(one, "theirs" if one.mine is None else "mine", who)


def _by_list(who: WhoIsWho, origin: Origin) -> Iterator[tuple[list[One], list[One]]]:
    """Yield for each list of a side its new cues and those that both sides know, in order."""
    new: dict[str, list[One]] = defaultdict(list)
    old: dict[str, list[One]] = defaultdict(list)
    for thing, one in who.by_name[origin].items():
        if thing.kind != "cue":
            continue
        if one.base is None:
            new[thing.list].append(one)
        elif one.mine is not None and one.theirs is not None:
            old[thing.list].append(one)
    for number, found in new.items():
        yield found, sorted(old[number], key=lambda one: _order(one.on(origin)))


def _follow(one: One, old: list[One], origin: Origin, who: WhoIsWho) -> None:
    at = bisect([_order(neighbour.on(origin)) for neighbour in old], _order(one.on(origin)))
    before, after = old[at - 1 : at] if at else [], old[at : at + 1]
    own = one.on(origin)
    if own is None:
        return
    for step in _steps((*before, *after), one.name.list, origin, who):
        number = Decimal(own.id) + step
        name = Thing("cue", _written(number), one.name.list)
        if 0 <= number < _MOST and _between(name, before, after):
            one.name = name
            return


def _steps(
    neighbours: Iterable[One], list_number: str, origin: Origin, who: WhoIsWho
) -> Iterator[Decimal]:
    for neighbour in neighbours:
        if neighbour.name.list == list_number:
            yield Decimal(neighbour.name.id) - Decimal(name_on(neighbour, origin, who).id)


def _between(name: Thing, before: Iterable[One], after: Iterable[One]) -> bool:
    return all(
        neighbour.name.list != name.list or _order(neighbour.name) < _order(name)
        for neighbour in before
    ) and all(
        neighbour.name.list != name.list or _order(name) < _order(neighbour.name)
        for neighbour in after
    )


def _order(thing: Thing | None) -> tuple[int, int, str]:
    return cue_order(thing.id if thing is not None else "")


def _written(number: Decimal) -> str:
    text = f"{number.quantize(_PLACES):f}"
    return text.rstrip("0").rstrip(".")
