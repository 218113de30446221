"""Where a thing is expected because of what became of its neighbour."""

from collections.abc import Mapping, Sequence

from showvault.show.addressing import Thing, thing_order


class Neighbours:
    """The order of the things of one kind, in the old show and in the new one."""

    def __init__(self, old: Sequence[Thing], new: Sequence[Thing]) -> None:
        self._old = sorted(old, key=thing_order)
        self._new = sorted(new, key=thing_order)
        self._old_rank = {thing: rank for rank, thing in enumerate(self._old)}
        self._new_rank = {thing: rank for rank, thing in enumerate(self._new)}

    def expected(self, thing: Thing, became: Mapping[Thing, Thing]) -> Thing | None:
        """Return what stands in the new show beside what became of the thing's neighbour.

        The neighbour before counts first; a thing that is not in ``became`` kept its name.
        """
        rank = self._old_rank[thing]
        for step in (-1, 1):
            beside = self._at(self._old, rank + step)
            if beside is None or _row(beside) != _row(thing):
                continue
            place = self._new_rank.get(became.get(beside, beside))
            if place is not None and (found := self._at(self._new, place - step)) is not None:
                return found
        return None

    def followed_by(self, one: Thing, other: Thing) -> bool:
        """Tell whether two old things are neighbours in this order, in one list."""
        return self._beside(self._old_rank, one, other)

    def new_followed_by(self, one: Thing, other: Thing) -> bool:
        """Tell whether two new things are neighbours in this order, in one list."""
        return self._beside(self._new_rank, one, other)

    @staticmethod
    def _beside(rank: Mapping[Thing, int], one: Thing, other: Thing) -> bool:
        return _row(one) == _row(other) and rank[other] == rank[one] + 1

    @staticmethod
    def _at(order: Sequence[Thing], rank: int) -> Thing | None:
        return order[rank] if 0 <= rank < len(order) else None


def _row(thing: Thing) -> tuple[str, str]:
    """Return what a thing's neighbours share with it: its cue list, or its group of presets."""
    return thing.list, thing.id.partition(" ")[0] if thing.kind == "preset" else ""
