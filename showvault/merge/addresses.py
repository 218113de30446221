"""Two fixtures that each side for itself patched well, and that overlap once both are there.

Footprints are counted for each break, up to the last slot, as the check counts them (check.patch).
Only overlaps that neither side has are a conflict: what a side overlaps by itself is its own doing.
Where a fixture's own addresses are still to be decided, what they overlap is asked after that.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import msgspec
from msgspec import UNSET

from showvault.check.patch import footprints_of
from showvault.merge.conflicts import Conflict, Decisions
from showvault.merge.identity import Origin
from showvault.review.field_wording import say_address
from showvault.show.addressing import place_order
from showvault.show.model import Mode
from showvault.show.places import pointer_to
from showvault.show.trees import Tree, encode_tree

_MODE = msgspec.json.Decoder(Mode)


class Span(NamedTuple):
    """The addresses that one break of a fixture takes."""

    universe: int
    first: int
    last: int


def addresses_of(fixture: Tree) -> list[Tree]:
    """Return the start addresses of a fixture; none where it is not patched."""
    held = fixture.get("addresses") if isinstance(fixture, dict) else None
    return held if isinstance(held, list) else []


@dataclass(frozen=True)
class Patch:
    """The fixtures and types of one show, by number and by name."""

    fixtures: Mapping[str, Tree]
    types: Mapping[str, Tree]

    @cached_property
    def _footprints(self) -> dict[tuple[str, str], dict[int, int]]:
        return {}

    def spans(self, number: str) -> list[Span]:
        """Return the addresses that a fixture takes; none where it is not there."""
        fixture = self.fixtures.get(number, {})
        sizes = self._sizes(fixture.get("type", ""), fixture.get("mode", ""))
        starts = [(sizes.get(start.get("break", 1), 0), start) for start in addresses_of(fixture)]
        return [
            Span(start["universe"], start["address"], start["address"] + size - 1)
            for size, start in starts
            if size
        ]

    def _sizes(self, of_type: str, mode: str) -> dict[int, int]:
        key = (of_type, mode)
        if key not in self._footprints:
            described = self.types.get(of_type, {}).get("modes", {}).get(mode)
            sizes = {} if described is None else footprints_of(_MODE.decode(encode_tree(described)))
            self._footprints[key] = sizes
        return self._footprints[key]


def settle_addresses(
    merged: Patch, sides: Mapping[Origin, Patch], decisions: Decisions
) -> dict[str, Tree]:
    """Return the fixtures that get other addresses, so that none overlap that did on no side.

    All patches are in the numbers of the merged show.
    """
    patched_anew: dict[str, Tree] = {}
    undecided = _undecided(sides, decisions)
    for one, other, span in _new_overlaps(merged, sides):
        if {one, other} & undecided:
            continue
        mine, theirs = _whose(one, other, merged, sides)
        choice = decisions.settle(_conflict(mine, theirs, span, sides))
        losers = {"mine": (theirs,), "theirs": (mine,), "base": (mine, theirs)}
        for number in losers[choice]:
            fixture = dict((patched_anew if number in patched_anew else merged.fixtures)[number])
            fixture.pop("addresses", None)
            before = sides[choice].fixtures.get(number, {}).get("addresses", UNSET)
            patched_anew[number] = fixture if before is UNSET else {**fixture, "addresses": before}
    return patched_anew


def _undecided(sides: Mapping[Origin, Patch], decisions: Decisions) -> set[str]:
    """Return the fixtures that take other addresses on each side, and nobody decided which."""
    open_ones: set[str] = set()
    open_types: set[str] = set()
    for conflict in decisions.open:
        match conflict.path:
            case ("patch", number) | ("patch", number, "addresses" | "type" | "mode"):
                open_ones.add(number)
            case ("fixture_types", of_type) | ("fixture_types", of_type, "modes", *_):
                open_types.add(of_type)
    mine, theirs = sides["mine"], sides["theirs"]
    for number in mine.fixtures.keys() | theirs.fixtures.keys():
        types = {side.fixtures.get(number, {}).get("type", "") for side in (mine, theirs)}
        if types & open_types:
            open_ones.add(number)
    return {number for number in open_ones if mine.spans(number) != theirs.spans(number)}


def _new_overlaps(merged: Patch, sides: Mapping[Origin, Patch]) -> Iterator[tuple[str, str, Span]]:
    """Yield each two fixtures that overlap now and on neither side, once, and where."""
    changed = {
        origin: {
            number for number in merged.fixtures if merged.spans(number) != patch.spans(number)
        }
        for origin, patch in sides.items()
    }
    told = set()
    for one, other, span in _overlaps(merged):
        pair = tuple(sorted((one, other), key=place_order))
        if pair in told or not all(
            changed[origin] & {one, other} and not _overlap_on(sides[origin], one, other)
            for origin in ("mine", "theirs")
        ):
            continue
        told.add(pair)
        yield one, other, span


def _overlaps(patch: Patch) -> Iterator[tuple[str, str, Span]]:
    by_universe: dict[int, list[tuple[Span, str]]] = defaultdict(list)
    for number in sorted(patch.fixtures, key=place_order):
        for span in patch.spans(number):
            by_universe[span.universe].append((span, number))
    for universe in sorted(by_universe):
        still_open: list[tuple[Span, str]] = []
        for span, number in sorted(by_universe[universe], key=lambda item: item[0]):
            still_open = [item for item in still_open if item[0].last >= span.first]
            for other_span, other in still_open:
                if other != number:
                    last = min(span.last, other_span.last)
                    yield other, number, Span(universe, span.first, last)
            still_open.append((span, number))


def _overlap_on(patch: Patch, one: str, other: str) -> bool:
    return any(
        a.universe == b.universe and a.first <= b.last and b.first <= a.last
        for a in patch.spans(one)
        for b in patch.spans(other)
    )


def _whose(one: str, other: str, merged: Patch, sides: Mapping[Origin, Patch]) -> tuple[str, str]:
    """Return first the fixture that mine put there, then that of theirs."""
    from_mine = [
        number for number in (one, other) if merged.spans(number) != sides["theirs"].spans(number)
    ]
    mine = from_mine[0]
    return (mine, other if mine == one else one)


def _conflict(mine: str, theirs: str, span: Span, sides: Mapping[Origin, Patch]) -> Conflict:
    where = f"universe {span.universe} " + (
        f"address {span.first}"
        if span.first == span.last
        else f"addresses {span.first}–{span.last}"
    )
    first, second = sorted((mine, theirs), key=place_order)
    ours = f"fixture {mine} at {_say_addresses(sides['mine'], mine)}"
    others = f"fixture {theirs} at {_say_addresses(sides['theirs'], theirs)}"
    before = [
        f"fixture {number} at {_say_addresses(sides['base'], number)}"
        for number in (first, second)
        if number in sides["base"].fixtures
    ]
    base = ", ".join(before) if before else UNSET
    text = f"{where} taken by two fixtures: mine: {ours}; theirs: {others}"
    pointer = pointer_to(("patch", first, "addresses"))
    return Conflict(where, pointer, base, ours, others, text)


def _say_addresses(patch: Patch, number: str) -> str:
    starts = addresses_of(patch.fixtures.get(number, {}))
    return ", ".join(map(say_address, starts)) or "no address"
