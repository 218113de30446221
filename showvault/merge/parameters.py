"""One parameter that two sides stored in two parts of one cue: each part has its own parameters.

Common practice, no source (see check.parts). Merged part by part, it would be stored twice and the
highest part would win unasked.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from msgspec import UNSET

from showvault.compare.changes import Path
from showvault.merge.conflicts import Conflict, Decisions
from showvault.merge.identity import Origin
from showvault.review.values import Scales, say_stored
from showvault.show.addressing import Thing, say_fixture, say_thing
from showvault.show.attributes import say_attribute
from showvault.show.places import path_to, pointer_to
from showvault.show.trees import Tree

Parameter = tuple[str, str]
_Stored = dict[Parameter, dict[Path, Tree]]


def settle_parameters(
    cue: Thing, sides: Mapping[Origin, Tree], merged: Tree, decisions: Decisions
) -> Tree:
    """Return the cue with every parameter in one part, as far as either side has it so."""
    twice = {parameter: places for parameter, places in _stored(merged).items() if len(places) > 1}
    if not twice:
        return merged
    on_sides = {origin: _stored(tree) for origin, tree in sides.items()}
    for parameter, places in twice.items():
        if any(len(on_sides[origin].get(parameter, ())) > 1 for origin in ("mine", "theirs")):
            continue
        choice = decisions.settle(_conflict(cue, parameter, on_sides, decisions.scales))
        wanted = on_sides[choice].get(parameter, {})
        for place in {*places, *wanted}:
            merged = _with(merged, (*place, *parameter), wanted.get(place, UNSET))
    return merged


def _conflict(
    cue: Thing, parameter: Parameter, sides: Mapping[Any, _Stored], scales: Scales
) -> Conflict:
    fixture, attribute = parameter
    scale = scales(fixture, attribute)
    place = f"{say_thing(cue)}, fixture {say_fixture(fixture)} {attribute}"
    held = {origin: stored.get(parameter, {}) for origin, stored in sides.items()}
    said = {
        origin: " and ".join(
            f"{say_stored(value, scale)} in {_say_part(at)}" for at, value in own.items()
        )
        for origin, own in held.items()
    }
    base, mine, theirs = (
        next(iter(held[origin].values()), UNSET) for origin in ("base", "mine", "theirs")
    )
    where = next(iter(held["theirs"]), ("levels",))
    text = (
        f"{say_thing(cue)}: fixture {say_fixture(fixture)} {say_attribute(attribute)}: "
        f"mine: {said['mine']}; theirs: {said['theirs']}"
    )
    pointer = pointer_to((*path_to(cue), *where, *parameter))
    return Conflict(place, pointer, base, mine, theirs, text)


def _say_part(place: Path) -> str:
    return f"part {place[1]}" if place[0] == "parts" else "part 1"


def _stored(cue: Tree) -> _Stored:
    """Return where each parameter of a cue is stored: the object of levels, and the value."""
    found: _Stored = {}
    for place, levels in _levels_of(cue):
        for fixture, values in levels.items():
            for attribute, value in values.items() if isinstance(values, dict) else ():
                found.setdefault((fixture, attribute), {})[place] = value
    return found


def _levels_of(cue: Tree) -> Iterator[tuple[Path, dict[str, Tree]]]:
    if not isinstance(cue, dict):
        return
    parts = cue.get("parts")
    holders: list[tuple[Path, Tree]] = [(("levels",), cue)]
    for number, part in parts.items() if isinstance(parts, dict) else ():
        holders.append((("parts", number, "levels"), part))
    for place, holder in holders:
        levels = holder.get("levels") if isinstance(holder, dict) else None
        if isinstance(levels, dict):
            yield place, levels


def _with(tree: Tree, path: Path, value: Tree) -> Tree:
    """Return a tree with one value put in, or taken out where it is UNSET."""
    first, *rest = path
    held = dict(tree) if isinstance(tree, dict) else {}
    if rest:
        held[first] = _with(held.get(first, {}), tuple(rest), value)
        if held[first] == {} and len(rest) <= 2:  # no level is left for this fixture, or at all
            del held[first]
    elif value is UNSET:
        held.pop(first, None)
    else:
        held[first] = value
    return held
