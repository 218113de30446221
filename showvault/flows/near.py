"""What a show has near a thing that it has not: how to go on after a slip of the finger.

What is named can be typed as it stands there.
"""

from bisect import bisect
from collections.abc import Iterable, Sequence
from difflib import get_close_matches

from showvault.show.addressing import Thing, cue_order, place_order, thing_order
from showvault.show.asking import Asked

NAMED_AT_MOST = 8
"""So many things are named; of more, those next to what was asked for."""

_TO_EACH_SIDE = 2


def say_near(asked: Asked, things: Iterable[Thing]) -> str:
    """Say which things a person may have meant, of those that a show has."""
    there = sorted(set(things), key=thing_order)
    if asked.kind == "show":
        return "without THING the whole version comes back"
    if asked.universe is not None:
        return "no fixture is patched in it, neither then nor now"
    alike = [thing for thing in there if thing.kind == asked.kind]
    if asked.kind == "cue":
        in_list = [thing for thing in alike if thing.list == asked.list]
        if not in_list:
            lists = [thing for thing in there if thing.kind == "cue_list"]
            return _say_some("there are no cues in that list", lists)
        alike = in_list
    if asked.group:
        in_group = [thing for thing in alike if thing.id.partition(" ")[0] == asked.group]
        alike = in_group or alike
    return _say_some(f"there are no {_plural(asked)} at all", _nearest(asked, alike))


def _say_some(none: str, things: Sequence[Thing]) -> str:
    if not things:
        return none
    return f"near it: {', '.join(map(_typed, things))}"


def _nearest(asked: Asked, alike: Sequence[Thing]) -> Sequence[Thing]:
    """Return all where they are few, else those next to the number that was asked for."""
    if len(alike) <= NAMED_AT_MOST or not asked.spans:
        return alike[:NAMED_AT_MOST]
    number = asked.spans[0][0]
    if asked.kind == "fixture_type":
        close = get_close_matches(number, [thing.id for thing in alike], NAMED_AT_MOST, 0.4)
        return [Thing("fixture_type", name) for name in close] or alike[:NAMED_AT_MOST]
    same_slot = [thing for thing in alike if _number_of(thing).partition(".")[2] == number]
    if same_slot and asked.kind not in ("cue", "fixture"):
        return same_slot[:NAMED_AT_MOST]  # only its page was left out
    order = cue_order if asked.kind == "cue" else place_order
    by_number = sorted(alike, key=lambda thing: order(_number_of(thing)))
    at = bisect([order(_number_of(thing)) for thing in by_number], order(number))
    return by_number[max(0, at - _TO_EACH_SIDE) : at + _TO_EACH_SIDE]


def _number_of(thing: Thing) -> str:
    return thing.id.rpartition(" ")[2]


def _typed(thing: Thing) -> str:
    """Say a thing in the words in which it can be asked for."""
    match thing.kind:
        case "cue":
            return f"list {thing.list} cue {thing.id}"
        case "cue_list":
            return f"list {thing.id}"
        case "preset":
            return f"preset {thing.id}"
        case "fixture_type":
            return f"type {thing.id}"
        case kind:
            return f"{kind} {thing.id}"


def _plural(asked: Asked) -> str:
    return f"{asked.kind.replace('_', ' ')}s"
