"""One show's patch as lines of a patch sheet: who sits where, and how wide.

A footprint is the highest slot of a break's channels, cells included; breaks count from 1 (GDTF
DMXBreak). Universes 1 to 63999 (ANSI E1.31), addresses 1 to 512 (ANSI E1.11). What is not
understood takes no addresses.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from showvault.show.addressing import place_order
from showvault.show.trees import Tree


@dataclass(frozen=True, order=True)
class Span:
    """The addresses that one break of a fixture takes in a universe."""

    universe: int
    address: int
    footprint: int
    break_: int = 1

    @property
    def last(self) -> int:
        """The last address taken; before the first one where the footprint is 0."""
        return self.address + self.footprint - 1


@dataclass(frozen=True)
class PatchLine:
    """One fixture of the patch sheet."""

    number: str
    type: str
    mode: str
    spans: tuple[Span, ...]
    hazards: frozenset[str] = frozenset()

    @property
    def non_dim(self) -> bool:
        """Whether the circuit must not be dimmed: that can destroy a lamp or a motor."""
        return "non_dim" in self.hazards


def patch_lines(
    patch: Mapping[str, Tree], fixture_types: Mapping[str, Tree]
) -> dict[str, PatchLine]:
    """Return the lines of a patch sheet by fixture number, in the order of the numbers."""
    footprints: dict[tuple[str, str], dict[int, int]] = {}
    lines = {}
    for number in sorted(patch, key=place_order):
        fixture = _object(patch[number])
        kind = (_text(fixture.get("type")), _text(fixture.get("mode")))
        fixture_type = _object(fixture_types.get(kind[0]))
        if kind not in footprints:
            footprints[kind] = _footprints(_object(_object(fixture_type.get("modes")).get(kind[1])))
        lines[number] = PatchLine(
            number,
            *kind,
            tuple(_spans(fixture, footprints[kind])),
            frozenset(hazard for hazard in _items(fixture_type, "hazards") if _text(hazard)),
        )
    return lines


def _spans(fixture: Mapping[str, Tree], footprints: Mapping[int, int]) -> Iterator[Span]:
    for address in map(_object, _items(fixture, "addresses")):
        universe, start = address.get("universe"), address.get("address")
        break_ = address.get("break", 1)
        if isinstance(universe, int) and isinstance(start, int) and isinstance(break_, int):
            yield Span(universe, start, footprints.get(break_, 0), break_)


def _footprints(mode: Mapping[str, Tree]) -> dict[int, int]:
    found: dict[int, int] = {}
    for holder in (mode, *map(_object, _object(mode.get("cells")).values())):
        for channel in map(_object, _items(holder, "channels")):
            break_ = channel.get("break", 1)
            slots = [slot for slot in _items(channel, "slots") if isinstance(slot, int)]
            if isinstance(break_, int) and slots:
                found[break_] = max(found.get(break_, 0), *slots)
    return found


def _object(value: Tree) -> Mapping[str, Tree]:
    return value if isinstance(value, dict) else {}


def _items(holder: Mapping[str, Tree], field: str) -> list[Tree]:
    held = holder.get(field)
    return held if isinstance(held, list) else []


def _text(value: Tree) -> str:
    return value if isinstance(value, str) else ""
