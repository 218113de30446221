"""Where something stands in a show: as a JSON Pointer (RFC 6901) and in trade words."""

from collections.abc import Sequence

from showvault.show.addressing import Thing, say_fixture, say_thing
from showvault.show.cutting import SECTIONS


def pointer_to(tokens: Sequence[str]) -> str:
    """Return the JSON Pointer (RFC 6901) of a path: "~" is written "~0", "/" is "~1"."""
    return "".join("/" + token.replace("~", "~0").replace("/", "~1") for token in tokens)


def say_pointer(tokens: Sequence[str]) -> str:
    """Say a path in trade words: "list 1 cue 12.5, fixture 101 Dimmer, fade"."""
    thing, rest = split_path(tokens)
    words = [say_thing(thing)] if thing is not None else []
    if len(rest) >= 3 and rest[0] == "parts":
        words[-1] += f" part {rest[1]}"
        rest = rest[2:]
    if len(rest) >= 2 and rest[0] == "levels":
        words.append(f"fixture {say_fixture(rest[1])}" + (f" {rest[2]}" if len(rest) > 2 else ""))
        rest = rest[3:]
    words += [_say_field(token) for token in rest]
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


def _say_field(token: str) -> str:
    return (
        f"number {int(token) + 1}"
        if token.isdecimal() and len(token) < 10
        else token.replace("_", " ")
    )
