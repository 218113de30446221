"""Which cues go by themselves after a go, when, and whether that ends.

- A follow counts from the go, or from the end of the longest delay + fade of all parts; one that
  does not say which counts from the go.
- What follows is the cue that the link names, else the next one of the list.
- A chain that comes back to a cue of its own is a loop: often on purpose.

Common practice, no source. All times are in milliseconds.
"""

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from msgspec import UnsetType

from showvault.look.fixtures import Rig
from showvault.look.levels import milliseconds
from showvault.look.timing import cue_length
from showvault.show.addressing import cue_order, place_order
from showvault.show.model import Cue, Show


class CueRef(NamedTuple):
    """A cue by list and number."""

    list: str
    cue: str


class Step(NamedTuple):
    """One cue of a chain; ``start`` is when it goes, counted from the first go."""

    ref: CueRef
    start: int


@dataclass(frozen=True)
class Chain:
    """A cue and what follows it by itself."""

    steps: tuple[Step, ...]
    length: int
    """From the first go until everything of the last cue has arrived; one round for a loop."""
    loops_to: CueRef | None = None
    """Where it goes on from the beginning; None where it ends."""


class CueOrder:
    """The cues of a show in the order of their lists."""

    def __init__(self, show: Show) -> None:
        self._cues: dict[str, Mapping[str, Cue]] = {
            number: cue_list.cues or {} for number, cue_list in (show.cue_lists or {}).items()
        }
        self._numbers: dict[str, list[str]] = {}

    def cue(self, ref: CueRef) -> Cue | None:
        """Return a cue; None where there is none."""
        return self._cues.get(ref.list, {}).get(ref.cue)

    def after(self, ref: CueRef) -> CueRef | None:
        """Return what comes after a cue: its link, else the next number; None at the end."""
        cue = self.cue(ref)
        if cue is not None and not isinstance(cue.link, UnsetType) and cue.link.cue:
            return CueRef(cue.link.list or ref.list, cue.link.cue)
        if ref.list not in self._numbers:
            self._numbers[ref.list] = sorted(self._cues.get(ref.list, {}), key=cue_order)
        numbers = self._numbers[ref.list]
        place = bisect_right(numbers, cue_order(ref.cue), key=cue_order)
        return CueRef(ref.list, numbers[place]) if place < len(numbers) else None


def chain_from(order: CueOrder, rig: Rig, first: CueRef) -> Chain:
    """Return the chain that a cue starts: the cue alone where it has no follow."""
    steps: list[Step] = []
    seen: set[CueRef] = set()
    ref: CueRef | None = first
    now = end = 0
    while ref is not None:
        if ref in seen:
            return Chain(tuple(steps), now, ref)
        cue = order.cue(ref)
        if cue is None:
            break
        seen.add(ref)
        steps.append(Step(ref, now))
        length = cue_length(rig, cue)
        end = max(end, now + length)
        if isinstance(cue.follow, UnsetType):
            break
        now += milliseconds(cue.follow.seconds) + (length if cue.follow.from_ == "end" else 0)
        ref = order.after(ref)
    return Chain(tuple(steps), end)


def find_loops(show: Show) -> list[tuple[CueRef, ...]]:
    """Return every loop of follows once, beginning with its lowest cue."""
    order = CueOrder(show)
    loops: set[tuple[CueRef, ...]] = set()
    done: set[CueRef] = set()
    for number, cue_list in (show.cue_lists or {}).items():
        for cue in cue_list.cues or {}:
            loops |= _loop_on_the_way(order, CueRef(number, cue), done)
    return sorted(loops, key=lambda loop: _ref_order(loop[0]))


def _loop_on_the_way(
    order: CueOrder, ref: CueRef | None, done: set[CueRef]
) -> set[tuple[CueRef, ...]]:
    way: dict[CueRef, None] = {}
    while ref is not None and ref not in done and ref not in way:
        cue = order.cue(ref)
        if cue is None or isinstance(cue.follow, UnsetType):
            break
        way[ref] = None
        ref = order.after(ref)
    done.update(way)
    if ref is None or ref not in way:
        return set()
    loop = list(way)[list(way).index(ref) :]
    lowest = loop.index(min(loop, key=_ref_order))
    return {tuple(loop[lowest:] + loop[:lowest])}


def _ref_order(ref: CueRef) -> tuple[object, ...]:
    return (place_order(ref.list), cue_order(ref.cue))
