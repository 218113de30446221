"""What a merge of two people's known edits has to give, worked out from the edits alone.

Nothing of the program's merging, matching or comparing is used: both sides' edits are known by who
each thing is (known_show), so the true show is the base with every value that one side set.
Somebody has to decide (a clash is *due*) in four cases and no other: one value set to two; removed
by one and edited by the other; one number taken for two things; one DMX address taken by two
fixtures. Two allowances, common practice, no source:

- A new cue whose neighbours the other renumbered may have any number that is still between them.
- A group's members are held against each other without their order.
"""

import json
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from tests.builders import Tree
from tests.merge.known_show import Entry, KnownShow, Name, Path, cues_of, refs_in, written
from tests.merge.people import Person

FOOTPRINT = {"dimmer": 1, "spot": 3, "wash": 9}
"""Slots of the fixture types of the known house."""
SET_TWICE, REMOVED = "set twice", "removed and edited"
_NOTHING = object()


@dataclass(frozen=True)
class Truth:
    """The show that holds both sides' edits, and where somebody has to decide."""

    base: KnownShow
    show: KnownShow
    """With mine's value where a clash is due."""
    clashes: tuple[str, ...]
    avoidable: tuple[str, ...]
    """Numbers taken twice, where one of the two may move with its neighbours."""
    around: Mapping[str, tuple[str | None, str | None]]
    """New cues that may move with their neighbours, each with the cues before and after it."""
    hanging: bool
    """One side names what the other removed: the show is true, and the check finds it."""

    @property
    def only_of_values(self) -> bool:
        """Whether all that clashes are values, and things that one removed and the other edited."""
        told = all(clash.endswith((SET_TWICE, REMOVED)) for clash in self.clashes)
        return told and bool(self.clashes) and not self.avoidable


def find_truth(mine: Person, theirs: Person) -> Truth:
    """Work out what both people's edits give together."""
    base = mine.before
    clashes: list[str] = []
    show: KnownShow = {}
    for who in dict.fromkeys([*base, *mine.show, *theirs.show]):
        sides = [known.get(who) for known in (base, mine.show, theirs.show)]
        entry = _together(who, sides[0], sides[1], sides[2], clashes)
        if entry is not None:
            show[who] = entry
    clashes += _stored_twice(show, mine.show, theirs.show)
    clashes += _parts_at_odds(base, mine.show, theirs.show)
    clashes += _addresses_taken(show, base, mine.show, theirs.show)
    around = dict(_may_move(base, mine.show, theirs.show))
    avoidable: list[str] = []
    for name, holders in _numbers_taken(show):
        (avoidable if holders & around.keys() else clashes).append(f"{name} taken twice")
    hanging = any(who not in show for entry in show.values() for who in refs_in(entry))
    return Truth(base, show, tuple(clashes), tuple(avoidable), around, hanging)


def is_true(data: bytes, truth: Truth) -> bool:
    """Tell whether bytes are the true show: a sound file with exactly everybody's work in it."""
    try:
        found = json.loads(data, parse_float=Decimal, object_pairs_hook=_without_doubles)
    except ValueError:
        return False
    show = dict(truth.show)
    for who, (before, after) in truth.around.items():
        label = show[who].fields["label",]
        number = _number_of(found, show[show[who].home].number, label)
        if number is None or not _is_between(number, before, after, truth.show):
            return False
        show[who] = Entry("cue", show[who].home, number, show[who].fields)
    return _plain(found) == _plain(written(show, missing=truth.base))


def _together(
    who: str, base: Entry | None, mine: Entry | None, theirs: Entry | None, clashes: list[str]
) -> Entry | None:
    if base is None:
        return mine or theirs
    if mine is None or theirs is None:
        stays = mine or theirs
        if stays is not None and stays.fields != base.fields:
            clashes.append(f"{who}: {REMOVED}")
            return mine
        return None
    number = _value(f"{who}: number", base.number, mine.number, theirs.number, clashes)
    fields: dict[Path, Tree] = {}
    for path in dict.fromkeys([*mine.fields, *theirs.fields]):
        values = (one.fields.get(path, _NOTHING) for one in (base, mine, theirs))
        value = _value(f"{who}: {path}", *values, clashes)
        if value is not _NOTHING:
            fields[path] = value
    return Entry(base.kind, base.home, number, fields)


def _value(what: str, base: Any, mine: Any, theirs: Any, clashes: list[str]) -> Any:
    if mine == base:
        return theirs
    if theirs not in (base, mine):
        clashes.append(f"{what}: {SET_TWICE}")
    return mine


def _stored_twice(show: KnownShow, *sides: KnownShow) -> Iterator[str]:
    """One parameter of a cue belongs to one part: stored in two it is one value, set twice."""
    for who, entry in show.items():
        if entry.kind != "cue":
            continue
        for parameter, places in _parameters(entry).items():
            before = [_parameters(side[who])[parameter] for side in sides if who in side]
            if places > 1 and all(held < 2 for held in before):
                yield f"{who}: {parameter} stored in two parts"


def _parameters(entry: Entry) -> Counter[tuple[Any, ...]]:
    return Counter(path[-2:] for path in entry.fields if "levels" in path)


def _parts_at_odds(base: KnownShow, mine: KnownShow, theirs: KnownShow) -> Iterator[str]:
    """A part has a number too: made twice, or removed and edited."""
    for who in mine.keys() & theirs.keys():
        before, one, other = (_part(known.get(who)) for known in (base, mine, theirs))
        if one in (before, other) or other == before:
            continue
        if not (before and one and other):
            yield f"{who}: part 2"


def _part(entry: Entry | None) -> dict[Path, Tree]:
    fields = entry.fields if entry is not None else {}
    return {path: value for path, value in fields.items() if path[0] == "parts"}


def _addresses_taken(show: KnownShow, *sides: KnownShow) -> Iterator[str]:
    def overlaps(known: KnownShow) -> set[tuple[str, str]]:
        spans = sorted(
            (start["universe"], start["address"], FOOTPRINT[entry.fields["type",]], who)
            for who, entry in known.items()
            if entry.kind == "fixture"
            for start in entry.fields["addresses",]
        )
        return {
            (min(who, other), max(who, other))
            for at, (universe, first, size, who) in enumerate(spans)
            for u, start, _, other in spans[at + 1 :]
            if u == universe and start < first + size
        }

    known = set().union(*map(overlaps, sides))
    yield from (f"{one} and {other}: one address" for one, other in overlaps(show) - known)


def _may_move(
    base: KnownShow, mine: KnownShow, theirs: KnownShow
) -> Iterator[tuple[str, tuple[str | None, str | None]]]:
    """Yield the new cues that have a neighbour which the other side renumbered."""
    for own, other in ((mine, theirs), (theirs, mine)):
        for who, entry in own.items():
            if entry.kind == "cue" and who not in base:
                cues = [one for one in cues_of(own, entry.home) if one == who or one in other]
                at = cues.index(who)
                before, after = cues[at - 1] if at else None, (*cues, None)[at + 1]
                if any(
                    one is not None and other[one].number != base[one].number
                    for one in (before, after)
                ):
                    yield who, (before, after)


def _numbers_taken(show: KnownShow) -> Iterator[tuple[Name, set[str]]]:
    holders: dict[Name, set[str]] = defaultdict(set)
    for who, entry in show.items():
        holders[entry.name].add(who)
    yield from ((name, found) for name, found in holders.items() if len(found) > 1)


def _number_of(found: Tree, cue_list: str, label: str) -> str | None:
    cues = found.get("cue_lists", {}).get(cue_list, {}).get("cues", {})
    numbers = [number for number, cue in cues.items() if cue.get("label") == label]
    return numbers[0] if len(numbers) == 1 else None


def _is_between(number: str, before: str | None, after: str | None, show: KnownShow) -> bool:
    """Tell whether a new cue stands between the cues it was put between, where that can be."""
    low = Decimal(show[before].number) if before is not None else Decimal(-1)
    high = Decimal(show[after].number) if after is not None else Decimal("Infinity")
    return low > high or low < Decimal(number) < high


def _plain(tree: Tree) -> Tree:
    """Return a tree with numbers as numbers, members as a set, and nothing that is empty."""
    match tree:
        case dict():
            held = {
                key: sorted(value) if key == "fixtures" else _plain(value)
                for key, value in tree.items()
            }
            return {key: value for key, value in held.items() if value not in ({}, [])}
        case list():
            return [_plain(inner) for inner in tree]
        case bool() | str():
            return tree
        case _:
            return Decimal(str(tree))


def _without_doubles(pairs: list[tuple[str, Tree]]) -> Tree:
    held = dict(pairs)
    if len(held) < len(pairs):
        raise ValueError("a key is given twice")
    return held
