"""Which references still name a moved thing by its old number.

Most of them stand in parts that did not change, so those are searched for the name as bytes, and
only what holds it is decoded. A name spelled with JSON escapes is not found that way, nor one that
is written with other blanks than all the others in its part, if those followed.
"""

from collections import defaultdict
from collections.abc import Callable, Mapping

import msgspec

from showvault.compare.changes import Stayed
from showvault.compare.matches import Matches
from showvault.compare.references import references_in
from showvault.compare.renames import Renames
from showvault.compare.sides import Side
from showvault.show.addressing import Kind, Thing

MANY = 6
"""Beyond so many moved things of one kind, parts are decoded without being searched first."""

_HOLDERS: Mapping[Kind, tuple[Kind, ...]] = {
    "fixture": ("cue", "preset", "submaster", "group", "effect"),
    "fixture_type": ("fixture", "preset"),
    "curve": ("fixture",),
    "preset": ("cue", "submaster"),
    "effect": ("cue",),
    "cue": ("cue",),
    "cue_list": ("cue", "playback"),
}
"""What can name a thing of each kind."""

_NOTHING: frozenset[Thing] = frozenset()

Filter = Callable[[bytes], bool]


def find_stayed(matches: Matches, old: Side, new: Side) -> dict[Thing, list[Stayed]]:
    """Return the references that did not follow, for each moved thing (old name)."""
    renames = matches.renames
    filters = _filters(renames)
    nameable = {kind: _nameable(renames, kind) for kind in filters}
    stayed: dict[Thing, list[Stayed]] = defaultdict(list)
    followed = {before: movers for (before, _), movers in matches.only_followed.items()}
    for before in old.parts:
        may_name = nameable.get(before.kind)
        if not may_name or may_name <= followed.get(before, _NOTHING):
            continue
        after = renames.new_name(before)
        if after not in new.parts or matches.lost(before):
            continue
        if not any(holds(new.parts[after].data) for holds in filters[after.kind]):
            continue
        named = {
            (renames.new_path(path), target)
            for path, target in references_in(before, old.tree(before))
        }
        for path, target in references_in(after, new.tree(after)):
            mover = renames.mover_of(target)
            if mover is None or renames.new_name(target) == target:
                continue
            if (path, target) in named or (renames.new_path(path), target) in named:
                stayed[mover].append(Stayed(after, path))
    return stayed


def _nameable(renames: Renames, holder: Kind) -> frozenset[Thing]:
    """Return the moved things that a thing of some kind may name."""
    return frozenset(one for one in renames.moved if holder in _HOLDERS.get(one.kind, ()))


def _filters(renames: Renames) -> dict[Kind, list[Filter]]:
    by_kind: dict[Kind, list[Thing]] = defaultdict(list)
    for thing in renames.moved:
        by_kind[thing.kind].append(thing)
    filters: dict[Kind, list[Filter]] = defaultdict(list)
    for kind, things in by_kind.items():
        for holder in _HOLDERS.get(kind, ()):
            filters[holder].append(_filter(kind, holder, things))
    return filters


def _filter(kind: Kind, holder: Kind, things: list[Thing]) -> Filter:
    match kind, holder:
        case "fixture", "group" | "effect":
            return _anything
        case "cue_list", "playback":
            return _anything
        case "cue" | "cue_list", "cue":
            return _holding([b'"link"', b'"also_go"'])
        case "curve", _:
            return _holding([b'"curve"'])
        case _ if len(things) > MANY:
            return _anything
        case "fixture", _:
            return _holding(
                [needle for thing in things for needle in (_key(thing.id), _cell(thing.id))]
            )
        case _:
            return _holding([_key(thing.id) for thing in things])


def _anything(data: bytes) -> bool:
    return True


def _holding(needles: list[bytes]) -> Filter:
    return lambda data: any(needle in data for needle in needles)


def _key(name: str) -> bytes:
    # The closing quotation mark alone: the search is faster without the opening one.
    return msgspec.json.encode(name)[1:]


def _cell(number: str) -> bytes:
    return f'"{number}.'.encode()
