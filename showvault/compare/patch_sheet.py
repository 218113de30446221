"""Two patches compared as patch sheets: what moved where, and what goes wrong only since then.

- Fixtures are told apart as in the comparison: a renumbered fixture is one line.
- Whole universes that moved are told as such, one entry for all their fixtures.
- Footprints that overlap, run past address 512 or lie in a universe that the desk does not have
  are named only where they did not before; a deliberate pair (same type and address) is not.
- An address where a dimmed circuit and a non-dim one changed places is pointed out.

Common practice, no source, unless a standard is named.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import islice

from showvault.compare.changes import Comparison, Moved
from showvault.compare.patch_lines import PatchLine, Span, patch_lines
from showvault.compare.sides import SHOW, Side
from showvault.show.addressing import place_order
from showvault.show.parts import ShowParts

LAST_ADDRESS = 512
"""ANSI E1.11 (DMX512-A): 1 to 512."""

NAMED_AT_MOST = 8
"""How many overlaps are named for one footprint: a heap of fixtures at one address has many."""


@dataclass(frozen=True)
class PatchRow:
    """A fixture whose patch differs; a side is None where the fixture is not there."""

    before: PatchLine | None
    after: PatchLine | None


@dataclass(frozen=True)
class UniverseMove:
    """Fixtures that went from one universe to another, each to the same addresses."""

    from_: int
    to: int
    fixtures: tuple[str, ...]
    """As the new show numbers them."""


@dataclass(frozen=True)
class Overlap:
    """Addresses that two fixtures take, and did not both take before."""

    universe: int
    first: int
    last: int
    fixtures: tuple[str, str]


@dataclass(frozen=True)
class PastTheEnd:
    """A footprint that runs past the last address of its universe."""

    fixture: str
    span: Span


@dataclass(frozen=True)
class NonDimExchange:
    """An address whose circuit was dimmed and must not be, or the other way round."""

    universe: int
    first: int
    last: int
    before: tuple[str, ...]
    after: tuple[str, ...]
    now_non_dim: bool


@dataclass(frozen=True)
class BeyondCapacity:
    """A universe that is in use and that the desk does not have."""

    universe: int
    capacity: int
    fixtures: tuple[str, ...]


@dataclass(frozen=True)
class PatchComparison:
    """What differs between two patches, and what is new that is wrong."""

    rows: tuple[PatchRow, ...] = ()
    universe_moves: tuple[UniverseMove, ...] = ()
    overlaps: tuple[Overlap, ...] = ()
    past_the_end: tuple[PastTheEnd, ...] = ()
    exchanged: tuple[NonDimExchange, ...] = ()
    beyond_capacity: tuple[BeyondCapacity, ...] = ()


def compare_patches(before: ShowParts, after: ShowParts, comparison: Comparison) -> PatchComparison:
    """Return the patch of two shows compared; ``comparison`` says who is who."""
    old_side, new_side = Side(before), Side(after)
    new_names = {
        change.from_.id: change.thing.id
        for change in comparison.changes
        if isinstance(change, Moved) and change.thing.kind == "fixture"
    }
    old_lines, new_lines = _lines(old_side), _lines(new_side)
    taken = {*new_names.values()}
    pairs = {
        number: new_names.get(number, "" if number in taken else number) for number in old_lines
    }
    rows = tuple(_rows(old_lines, new_lines, pairs))
    return PatchComparison(
        rows,
        tuple(_universe_moves(rows)),
        tuple(_new_overlaps(old_lines, new_lines, pairs)),
        tuple(_newly_past_the_end(old_lines, new_lines, pairs)),
        tuple(_exchanges(old_lines, new_lines)),
        tuple(_newly_beyond(old_side, old_lines, new_side, new_lines)),
    )


def _lines(side: Side) -> dict[str, PatchLine]:
    held: dict[str, dict[str, object]] = {"fixture": {}, "fixture_type": {}}
    for thing in side.parts:
        if thing.kind in held:
            held[thing.kind][thing.id] = side.tree(thing)
    return patch_lines(held["fixture"], held["fixture_type"])


def _rows(
    old: Mapping[str, PatchLine], new: Mapping[str, PatchLine], pairs: Mapping[str, str]
) -> Iterator[PatchRow]:
    before_of = {after: before for before, after in pairs.items() if after in new}
    rows = [PatchRow(old.get(before_of.get(number, "")), line) for number, line in new.items()]
    rows += [PatchRow(line, None) for number, line in old.items() if pairs[number] not in new]
    for row in sorted(rows, key=_number):
        if row.before != row.after:
            yield row


def _number(row: PatchRow) -> tuple[object, ...]:
    line = row.after or row.before
    return place_order(line.number if line else "")


def _universe_moves(rows: tuple[PatchRow, ...]) -> Iterator[UniverseMove]:
    """Yield the moves of fixtures all of whose addresses went from one universe to another."""
    moves: dict[tuple[int, int], list[str]] = defaultdict(list)
    for row in rows:
        if row.before is None or row.after is None:
            continue
        one, other = row.before.spans, row.after.spans
        ways = {(old.universe, new.universe) for old, new in zip(one, other, strict=False)}
        same = [span.address for span in one] == [span.address for span in other]
        if same and len(ways) == 1 and (way := next(iter(ways)))[0] != way[1]:
            moves[way].append(row.after.number)
    for (from_, to), fixtures in sorted(moves.items()):
        yield UniverseMove(from_, to, tuple(fixtures))


def _new_overlaps(
    old: Mapping[str, PatchLine], new: Mapping[str, PatchLine], pairs: Mapping[str, str]
) -> Iterator[Overlap]:
    known = {
        frozenset(pairs.get(number, "") for number in overlap.fixtures)
        for overlap in _overlaps(old)
    }
    for overlap in _overlaps(new):
        if frozenset(overlap.fixtures) not in known:
            yield overlap


def _overlaps(lines: Mapping[str, PatchLine]) -> Iterator[Overlap]:
    """Yield overlapping pairs: each span with those that are not over where it begins."""
    placed = sorted(
        (span, place_order(line.number), line.number)
        for line in lines.values()
        for span in line.spans
        if span.footprint > 0
    )
    still: list[tuple[Span, str]] = []
    for span, _, number in placed:
        still = [
            (other, one)
            for other, one in still
            if other.universe == span.universe and other.last >= span.address
        ]
        strangers = (
            (other, one)
            for other, one in still
            if lines[one].type != lines[number].type or other.address != span.address
        )
        for other, one in islice(strangers, NAMED_AT_MOST):
            last = min(other.last, span.last)
            yield Overlap(span.universe, span.address, last, (one, number))
        still.append((span, number))


def _newly_past_the_end(
    old: Mapping[str, PatchLine], new: Mapping[str, PatchLine], pairs: Mapping[str, str]
) -> Iterator[PastTheEnd]:
    known = {
        (pairs.get(number), span)
        for number, line in old.items()
        for span in line.spans
        if span.last > LAST_ADDRESS
    }
    for number, line in new.items():
        for span in line.spans:
            if span.last > LAST_ADDRESS and (number, span) not in known:
                yield PastTheEnd(number, span)


def _exchanges(
    old: Mapping[str, PatchLine], new: Mapping[str, PatchLine]
) -> Iterator[NonDimExchange]:
    """Yield runs of addresses that were all dimmed and are all non-dim, or the other way round."""
    if not any(line.non_dim for lines in (old, new) for line in lines.values()):
        return
    one, other = _circuits(old), _circuits(new)
    runs: list[NonDimExchange] = []
    for place in sorted(one.keys() & other.keys()):
        was, is_now = ({old[n].non_dim for n in one[place]}, {new[n].non_dim for n in other[place]})
        if len(was) != 1 or len(is_now) != 1 or was == is_now:
            continue
        universe, address = place
        here = (one[place], other[place])
        last = runs[-1] if runs else None
        if (
            last is not None
            and (last.universe, last.last + 1) == place
            and (last.before, last.after) == here
        ):
            runs[-1] = NonDimExchange(universe, last.first, address, *here, last.now_non_dim)
        else:
            runs.append(NonDimExchange(universe, address, address, *here, is_now == {True}))
    yield from runs


def _circuits(lines: Mapping[str, PatchLine]) -> dict[tuple[int, int], tuple[str, ...]]:
    held: dict[tuple[int, int], tuple[str, ...]] = {}
    for number, line in lines.items():
        for span in line.spans:
            for address in range(span.address, min(span.last, LAST_ADDRESS) + 1):
                place = (span.universe, address)
                held[place] = (*held.get(place, ()), number)
    return held


def _newly_beyond(
    old_side: Side,
    old: Mapping[str, PatchLine],
    new_side: Side,
    new: Mapping[str, PatchLine],
) -> Iterator[BeyondCapacity]:
    capacity = _universes(new_side)
    if capacity is None:
        return
    before = _universes(old_side)
    known = set(_beyond(old, before)) if before is not None else set()
    for universe, fixtures in sorted(_beyond(new, capacity).items()):
        if universe not in known:
            yield BeyondCapacity(universe, capacity, tuple(fixtures))


def _beyond(lines: Mapping[str, PatchLine], capacity: int) -> dict[int, list[str]]:
    found: dict[int, list[str]] = defaultdict(list)
    for number, line in lines.items():
        for universe in sorted({span.universe for span in line.spans}):
            if universe > capacity:
                found[universe].append(number)
    return found


def _universes(side: Side) -> int | None:
    capacity = side.tree(SHOW).get("capacity")
    universes = capacity.get("universes") if isinstance(capacity, dict) else None
    return universes if isinstance(universes, int) else None
