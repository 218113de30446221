"""Where something stands in a show: as a JSON Pointer (RFC 6901) and in trade words."""

from collections.abc import Iterator, Mapping, Sequence

from showvault.show.addressing import Thing, say_fixture, say_place, say_thing
from showvault.show.attributes import say_attribute
from showvault.show.outlines import SECTIONS

_LISTS: Mapping[str, str] = {
    "addresses": "start address",
    "also_go": "also go",
    "channels": "channel",
    "fixtures": "member",
    "functions": "function",
    "hazards": "hazard",
    "invert": "inverted attribute",
    "points": "point",
    "slots": "slot",
    "steps": "step",
}
"""What one item of each list is called."""

_MAPS: Mapping[str, str] = {
    "attributes": "attribute",
    "cells": "cell",
    "effects": "effect",
    "files": "file",
    "modes": "mode",
    "types": "type",
}
"""What a member of each map inside a thing is called."""


def pointer_to(tokens: Sequence[str]) -> str:
    """Return the JSON Pointer (RFC 6901) of a path: "~" is written "~0", "/" is "~1"."""
    return "".join("/" + token.replace("~", "~0").replace("/", "~1") for token in tokens)


def say_pointer(tokens: Sequence[str]) -> str:
    """Say a path in trade words: "list 1 cue 12.5, fixture 101 intensity, fade"."""
    thing, rest = split_path(tokens)
    words = [say_thing(thing)] if thing is not None else []
    if words and len(rest) >= 2 and rest[0] == "parts":
        words[-1] += f" part {rest[1]}"
        rest = rest[2:]
    if len(rest) >= 2 and rest[0] == "levels":
        attribute = f" {say_attribute(rest[2])}" if len(rest) > 2 else ""
        words.append(f"fixture {say_fixture(rest[1])}{attribute}")
        rest = rest[3:]
    words += _say_fields(rest)
    return ", ".join(words) or "the show"


def split_path(tokens: Sequence[str]) -> tuple[Thing | None, list[str]]:
    """Split a path into the thing it leads to and what follows inside it."""
    match list(tokens):
        case ["cue_lists", number, "cues", cue, *rest]:
            return Thing("cue", cue, number), rest
        case ["cue_lists", number, *rest]:
            return Thing("cue_list", number), rest
        case ["presets", group, place, *rest]:
            return Thing("preset", f"{group} {place}"), rest
        case [section, key, *rest] if section in SECTIONS:
            return Thing(SECTIONS[section], key), rest
        case rest:
            return None, rest


def path_to(thing: Thing) -> tuple[str, ...]:
    """Return the path of a thing: the inverse of split_path."""
    match thing.kind:
        case "show":
            return ()
        case "cue":
            return ("cue_lists", thing.list, "cues", thing.id)
        case "cue_list":
            return ("cue_lists", thing.id)
        case "preset":
            group, _, place = thing.id.partition(" ")
            return ("presets", group, place)
        case kind:
            section = next(name for name, of in SECTIONS.items() if of == kind)
            return (section, thing.id)


def _say_fields(tokens: Sequence[str]) -> Iterator[str]:
    """Say the keys inside a thing; what stands in a list is counted from 1."""
    rest = list(tokens)
    while rest:
        match rest:
            case [name, index, *rest] if name in _LISTS and index.isdecimal() and len(index) < 10:
                yield f"{_LISTS[name]} {int(index) + 1}"
            case [("all" | "attributes") as name, attribute, *rest]:
                yield f"{'for all' if name == 'all' else 'attribute'} {say_attribute(attribute)}"
            case ["types", name, attribute, *rest]:
                yield f"type {name} {say_attribute(attribute)}"
            case [name, key, *rest] if name in _MAPS:
                yield f"{_MAPS[name]} {say_place(key) if name == 'effects' else key}"
            case [name, *rest]:
                yield name.replace("_", " ")
