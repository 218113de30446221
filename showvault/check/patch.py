"""Whether the patch holds together: footprints, start addresses, and the slots of a mode.

A footprint is counted for each break, up to its last slot, gaps included (GDTF 1.2, tables 49 and
58). Addresses run from 1 to 512 (ANSI E1.11, DMX512-A); a footprint of 0 takes none (ANSI
E1.20). That two fixtures of one type at one address are meant is common practice, no source.
"""

import heapq
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from itertools import islice
from typing import NamedTuple

from msgspec import UnsetType

from showvault.check.contents import Contents
from showvault.check.finding import (
    NAMED_AT_MOST,
    Finding,
    Path,
    error,
    name_fixtures,
    note,
    warning,
)
from showvault.show.addressing import place_order
from showvault.show.model import Channel, Mode

LAST_ADDRESS = 512
"""The last address of a universe (ANSI E1.11)."""


class Span(NamedTuple):
    """The addresses that one break of a fixture takes in a universe."""

    universe: int
    first: int
    last: int
    number: str
    """The fixture's."""
    type: str
    path: Path


def footprints_of(mode: Mode) -> dict[int, int]:
    """Return the footprint of each break of a mode, cells included, in slots."""
    footprints: dict[int, int] = {}
    for _, channel in _channels_of(mode):
        number = _break_of(channel)
        footprints[number] = max(footprints.get(number, 0), *channel.slots, 0)
    return footprints


def find_overlaps(contents: Contents) -> Iterator[Finding]:
    """``footprint-overlap`` (error), ``shared-address`` (note: one type at one address)."""
    by_universe: dict[int, list[Span]] = defaultdict(list)
    for span in _spans(contents):
        by_universe[span.universe].append(span)
    for universe in sorted(by_universe):
        yield from _overlaps_in(by_universe[universe])


def find_footprints_past_the_end(contents: Contents) -> Iterator[Finding]:
    """``past-512``: a footprint runs past the last address of its universe."""
    for span in _spans(contents):
        if span.last > LAST_ADDRESS:
            yield error(
                "past-512",
                span.path,
                f"universe {span.universe}, addresses {span.first} to {span.last}: "
                f"the footprint runs past address {LAST_ADDRESS}",
            )


def find_breaks_without_an_address(contents: Contents) -> Iterator[Finding]:
    """``break-not-patched``, ``spare-address`` (warnings): breaks and addresses do not match."""
    patch = contents.show.patch or {}
    for number in sorted(patch, key=place_order):
        fixture, mode = patch[number], contents.modes.get(number)
        if mode is None or not fixture.addresses:
            continue
        footprints = {of: size for of, size in footprints_of(mode).items() if size}
        addressed = [address.break_ or 1 for address in fixture.addresses]
        for missing in sorted(footprints.keys() - set(addressed)):
            text = f"break {missing} of its mode has no start address"
            yield warning("break-not-patched", ("patch", number), text)
        for index, of in enumerate(addressed):
            if footprints and of not in footprints:
                text = f"its mode has no break {of}"
                yield warning("spare-address", ("patch", number, "addresses", str(index)), text)


def find_slots_taken_twice(contents: Contents) -> Iterator[Finding]:
    """``slot-taken-twice`` (warning): two channels of a mode send to one slot of one break."""
    types = contents.show.fixture_types or {}
    for name in sorted(types):
        for mode_name in sorted(types[name].modes or {}):
            path = ("fixture_types", name, "modes", mode_name)
            yield from _slots_taken_twice(path, (types[name].modes or {})[mode_name])


def _slots_taken_twice(path: Path, mode: Mode) -> Iterator[Finding]:
    taken: dict[tuple[int, int], str] = {}
    for inside, channel in _channels_of(mode):
        number = _break_of(channel)
        for slot in channel.slots:
            other = taken.setdefault((number, slot), channel.attribute)
            if other is not channel.attribute:
                text = f"slot {slot} of break {number} is taken by {other} too"
                yield warning("slot-taken-twice", (*path, *inside), text)


def _channels_of(mode: Mode) -> Iterator[tuple[Path, Channel]]:
    for index, channel in enumerate(mode.channels or []):
        yield ("channels", str(index)), channel
    cells = mode.cells or {}
    for cell in sorted(cells, key=place_order):
        for index, channel in enumerate(cells[cell].channels or []):
            yield ("cells", cell, "channels", str(index)), channel


def _break_of(channel: Channel) -> int:
    return 1 if isinstance(channel.break_, UnsetType) else channel.break_


def _spans(contents: Contents) -> Iterator[Span]:
    patch = contents.show.patch or {}
    footprints: dict[int, dict[int, int]] = {}
    for number in sorted(patch, key=place_order):
        fixture, mode = patch[number], contents.modes.get(number)
        if mode is None:
            continue
        sizes = footprints.setdefault(id(mode), footprints_of(mode))
        for index, start in enumerate(fixture.addresses or []):
            size = sizes.get(start.break_ or 1, 0)
            if size:
                last = start.address + size - 1
                path = ("patch", number, "addresses", str(index))
                yield Span(start.universe, start.address, last, number, fixture.type, path)


def _overlaps_in(spans: Sequence[Span]) -> Iterator[Finding]:
    """Hold each span against those that began before it and are not over yet."""
    open_spans: list[tuple[int, int, Span]] = []
    meant: Counter[tuple[str, int]] = Counter()
    for order, span in enumerate(
        sorted(spans, key=lambda span: (span.first, place_order(span.number)))
    ):
        while open_spans and open_spans[0][0] < span.first:
            heapq.heappop(open_spans)
        twins = meant[span.type, span.first]
        if twins < len(open_spans):
            strangers = (other for *_, other in open_spans if not _meant(span, other))
            yield _overlap(span, _name(strangers, len(open_spans) - twins))
        if twins:
            yield _shared(span, _name((o for *_, o in open_spans if _meant(span, o)), twins))
        heapq.heappush(open_spans, (span.last, order, span))
        meant[span.type, span.first] += 1


def _meant(one: Span, other: Span) -> bool:
    return one.type == other.type and one.first == other.first


def _overlap(span: Span, others: str) -> Finding:
    return error(
        "footprint-overlap",
        span.path,
        f"universe {span.universe}, addresses {span.first} to {span.last}: the footprint overlaps "
        f"that of {others}",
    )


def _shared(span: Span, others: str) -> Finding:
    return note(
        "shared-address",
        span.path,
        f"universe {span.universe} address {span.first} is shared with {others} of the same type",
    )


def _name(spans: Iterator[Span], count: int) -> str:
    named = [span.number for span in islice(spans, NAMED_AT_MOST)]
    return name_fixtures(set(named), count - len(named))
