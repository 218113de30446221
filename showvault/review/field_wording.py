"""What became of one field of a thing, in trade words: "fade in 3 → 5 s", "label “A” → “B”"."""

from collections.abc import Callable

from msgspec import UNSET

from showvault.compare.changes import Path
from showvault.review.ranges import fold_numbers
from showvault.review.values import (
    is_number,
    say_apart,
    say_level_pair,
    say_number,
    say_plain,
    say_seconds,
)
from showvault.show.addressing import Kind, place_order, say_fixture, say_place
from showvault.show.attributes import say_attribute
from showvault.show.trees import Tree

_SECONDS = {"fade_in", "fade_out", "delay_in", "delay_out", "fade", "delay", "cycle_seconds"}
_UNITS = {"load": " W", "spread": "°", "low": " %", "high": " %"}
_NAMES = {
    "swap_pan_tilt": "pan and tilt swapped",
    "also_go": "also starts",
    "cycle_seconds": "cycle",
    "unit_number": "unit",
    "invert": "inverted",
}

Say = Callable[[Tree], str]


def say_field_change(kind: Kind, path: Path, before: Tree, after: Tree) -> str:
    """Say what became of a field; ``path`` leads to it inside the thing or the part of a cue."""
    name, last = say_field(path), path[-1] if path else ""
    match path:
        case ("parts", number):
            return _existence(f"part {number}", before, after, _nothing_more)
        case ("effects", place) if kind == "cue":
            return _pair(f"effect {say_place(place)}", before, after, _say_members)
        case ("times", _):
            return _pair(name, before, after, _say_times)
        case ("all" | "types", *_):
            return f"{name} {say_level_pair(before, after)}"
        case ("modes", _) | ("modes", _, "cells", _) | ("attributes", _):
            return _existence(name, before, after, _nothing_more)
        case ("extra", *_):
            return _pair(name, before, after, say_plain)
        case _ if isinstance(before, list) or isinstance(after, list):
            return _say_lists(name, last, before, after)
        case _ if last in _SECONDS:
            return _numbers(name, before, after, " s")
        case _ if last in _UNITS:
            return _numbers(name, before, after, _UNITS[last])
        case _:
            return _pair(name, before, after, _SAYERS.get(last, say_plain))


def say_field(path: Path) -> str:
    """Say the name of a field: ("times", "Position", "fade") is "Position fade"."""
    match path:
        case ():
            return "everything in it"
        case ("times", group, *rest):
            return " ".join([group, *rest, *(() if rest else ("times",))])
        case ("all", attribute):
            return f"{say_attribute(attribute)} for all"
        case ("types", fixture_type, attribute):
            return f"{say_attribute(attribute)} for type {fixture_type}"
        case ("modes", mode, "cells", cell, *rest):
            return " ".join([f"mode {mode} cell {cell}", *rest])
        case ("modes", mode, *rest):
            return " ".join([f"mode {mode}", *rest])
        case ("attributes", attribute, *rest):
            return " ".join([say_attribute(attribute), *rest])
        case ("extra", *rest):
            return " ".join(["extra", *rest])
        case (*before, last):
            return " ".join([*before, _NAMES.get(last, last.replace("_", " "))])
        case _:
            return " ".join(path)


def say_address(address: Tree) -> str:
    """Say a start address: "universe 3 address 101 (break 2)"."""
    if not isinstance(address, dict):
        return say_plain(address)
    said = f"universe {address.get('universe', '?')} address {address.get('address', '?')}"
    rest = [
        f"{key} {say_plain(address[key]).strip('“”')}"
        for key in ("break", "scale", "curve", *sorted(address))
        if key in address and key not in ("universe", "address")
    ]
    return f"{said} ({', '.join(dict.fromkeys(rest))})" if rest else said


def say_follow(follow: Tree) -> str:
    """Say a follow: "2.5 s after the go"."""
    if not isinstance(follow, dict) or follow.keys() - {"from", "seconds"}:
        return say_plain(follow)
    seconds = say_seconds(follow["seconds"]) if "seconds" in follow else "at once"
    start = {"go": "after the go", "end": "after the end"}.get(str(follow.get("from")), "")
    return f"{seconds} {start}".strip()


def say_link(link: Tree) -> str:
    """Say a link: "list 1 cue 14"."""
    if not isinstance(link, dict) or link.keys() - {"list", "cue"}:
        return say_plain(link)
    words = [f"{key} {link[key]}" for key in ("list", "cue") if key in link]
    return " ".join(words) or "nowhere"


def say_trigger(trigger: Tree) -> str:
    """Say a trigger: "timecode 01:02:03:12 at 25 frames a second"."""
    if not isinstance(trigger, dict) or trigger.keys() - {"kind", "at", "rate"}:
        return say_plain(trigger)
    words = [str(trigger[key]) for key in ("kind", "at") if key in trigger]
    if "rate" in trigger:
        words.append(f"at {say_plain(trigger['rate'])} frames a second")
    return " ".join(words) or "none"


_SAYERS: dict[str, Say] = {
    "follow": say_follow,
    "link": say_link,
    "trigger": say_trigger,
    "universe": say_address,
    "type": lambda value: str(value) if isinstance(value, str) else say_plain(value),
    "mode": lambda value: str(value) if isinstance(value, str) else say_plain(value),
    "cue_list": lambda value: str(value) if isinstance(value, str) else say_plain(value),
}
_ITEMS: dict[str, Say] = {
    "addresses": say_address,
    "also_go": say_link,
    "fixtures": lambda item: say_fixture(str(item)),
    "invert": str,
    "hazards": str,
    "channels": lambda item: (
        str(item.get("attribute", "?")) if isinstance(item, dict) else say_plain(item)
    ),
    "points": lambda item: (
        f"{say_plain(item[0])} in {say_plain(item[1])} out"
        if isinstance(item, list) and len(item) == 2
        else say_plain(item)
    ),
}


def _pair(name: str, before: Tree, after: Tree, say: Say) -> str:
    one, other = _or_none(before, say), _or_none(after, say)
    if one == other:
        one, other = _or_none(before, say_plain), _or_none(after, say_plain)
    if one == other:
        other += " (written differently)"
    return f"{name} {one} → {other}"


def _or_none(value: Tree, say: Say) -> str:
    return "none" if value is UNSET or value == "" else say(value)


def _numbers(name: str, before: Tree, after: Tree, unit: str) -> str:
    if is_number(before) and is_number(after):
        one, other = say_apart(before, after, 3)
        if one != other:
            return f"{name} {one} → {other}{unit}"
    return _pair(
        name,
        before,
        after,
        lambda value: say_number(value) + unit if is_number(value) else say_plain(value),
    )


def _existence(name: str, before: Tree, after: Tree, say: Say) -> str:
    if before is UNSET:
        return f"{name} added{say(after)}"
    if after is UNSET:
        return f"{name} removed{say(before)}"
    return _pair(name, before, after, say_plain)


def _nothing_more(value: Tree) -> str:
    label = value.get("label") or value.get("name") if isinstance(value, dict) else None
    return f": “{label}”" if isinstance(label, str) else ""


def _say_times(times: Tree) -> str:
    if not isinstance(times, dict):
        return say_plain(times)
    told = (f"{key} {say_seconds(times[key])}" for key in times)
    return ", ".join(told) or "none given"


def _say_members(value: Tree) -> str:
    """Say what a cue does to an effect: "start, rate 1, size 1"."""
    if not isinstance(value, dict):
        return say_plain(value)
    words = [str(value["state"])] if "state" in value else []
    words += [f"{key} {say_plain(value[key])}" for key in sorted(value) if key != "state"]
    return ", ".join(words) or "named"


def _say_lists(name: str, last: str, before: Tree, after: Tree) -> str:
    """Say what went out of a list and what came in; all of it where the list is short."""
    say = _ITEMS.get(last, say_plain)
    was, now = (side if isinstance(side, list) else [] for side in (before, after))
    one, other = ([say(item) for item in side] for side in (was, now))
    if len(one) + len(other) <= 4 and one != other:
        return f"{name} {', '.join(one) or 'none'} → {', '.join(other) or 'none'}"
    gone, come = _beyond(one, other), _beyond(other, one)
    told = [f"without {_joined(last, gone)}"] if gone else []
    told += [f"with {_joined(last, come)}"] if come else []
    if not told:
        altered = [
            said
            for said, old, new in zip(other, was, now, strict=False)
            if one == other and old != new
        ]
        told = [f"{_joined(last, altered)} changed" if altered else "in another order"]
    return (
        f"{name} now {' and '.join(told)}"
        if not told[0].endswith("changed")
        else (f"{name}: {told[0]}")
    )


def _beyond(one: list[str], other: list[str]) -> list[str]:
    left = list(other)
    beyond = []
    for item in one:
        if item in left:
            left.remove(item)
        else:
            beyond.append(item)
    return beyond


def _joined(last: str, items: list[str]) -> str:
    if last == "fixtures":
        return ", ".join(fold_numbers(sorted(items, key=place_order)))
    return ", ".join(dict.fromkeys(items))
