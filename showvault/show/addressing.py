"""How the numbers of a show are written, ordered and said.

- A cue number is an exact decimal with at most three places; it orders as a number and is never
  a float: 12.5 and 12.50 are one cue.
- Presets, groups, effects, macros, submasters, playbacks and curves lie at a place: a plain number
  or ``page.slot``; page 1 slot 3 is before page 1 slot 10.
- A fixture number is whole and positive; ``101.2`` is cell 2 of fixture 101.

Keys are written in their shortest form. Common practice, no source, unless a standard is named.
"""

import re
from functools import lru_cache
from typing import Literal, NamedTuple

from showvault.errors import ShowvaultError

Kind = Literal[
    "show",
    "curve",
    "fixture_type",
    "fixture",
    "group",
    "preset",
    "effect",
    "macro",
    "submaster",
    "cue_list",
    "cue",
    "playback",
]

KINDS: tuple[Kind, ...] = Kind.__args__  # type: ignore[attr-defined]

KEY_PATTERNS = {
    "cue": r"^(0|[1-9][0-9]{0,8})(\.[0-9]{0,2}[1-9])?$",
    "place": r"^(0|[1-9][0-9]{0,8})(\.(0|[1-9][0-9]{0,8}))?$",
    "fixture": r"^[1-9][0-9]{0,8}$",
    "fixture or cell": r"^[1-9][0-9]{0,8}(\.[1-9][0-9]{0,8})?$",
    "number": r"^[1-9][0-9]{0,8}$",
}
"""What a key of each kind looks like in its shortest form, as regular expressions."""

_SPOKEN_CUE = re.compile(r"0*([0-9]{1,9})(?:\.([0-9]{0,3}?)0*)?")
_NUMERIC = re.compile(r"([0-9]{1,9})(?:\.([0-9]{1,9}))?")


class CueNumberError(ShowvaultError):
    """A text that should be a cue number is none."""

    exit_code = 2

    def __init__(self, found: str) -> None:
        super().__init__(
            f"{found!r} is not a cue number",
            hint="a cue number is a decimal with at most three places, such as 12 or 12.5",
        )
        self.found = found


class Thing(NamedTuple):
    """One numbered thing of a show: what compare, history and merge talk about.

    ``id`` is written as in the format: "12.5", "Color 1.3", "101"; it is empty for the show itself.
    ``list`` is the cue list's number for a cue, else empty.
    """

    kind: Kind
    id: str
    list: str = ""


def shortest_cue_number(text: str) -> str:
    """Return the shortest form of a cue number as somebody typed it: "012.50" is "12.5".

    Raises CueNumberError for anything else, more than three places included.
    """
    match = _SPOKEN_CUE.fullmatch(text.strip())
    if match is None:
        raise CueNumberError(text)
    whole, places = match.group(1), match.group(2)
    return f"{whole}.{places}" if places else whole


@lru_cache(maxsize=1 << 16)
def cue_order(key: str) -> tuple[int, int, str]:
    """Return what a cue number sorts by: 9 < 9.5 < 10; what is no cue number comes last."""
    whole, dot, places = key.partition(".")
    if not (whole.isdecimal() and len(whole) <= 9 and (places.isdecimal() or not dot)):
        return (1 << 40, 0, key)
    return (int(whole), int(places[:3].ljust(3, "0")), "")


@lru_cache(maxsize=1 << 16)
def place_order(key: str) -> tuple[int, int, str]:
    """Return what a place or a fixture number sorts by: 1.3 < 1.10 < 2; other keys come last."""
    match = _NUMERIC.fullmatch(key)
    if match is None:
        return (1 << 40, 0, key)
    return (int(match.group(1)), int(match.group(2) or -1), "")


@lru_cache(maxsize=1 << 16)
def thing_order(thing: Thing) -> tuple[int, tuple[int, int, str], str, tuple[int, int, str]]:
    """Return what a thing sorts by: in the order of a show, then by number."""
    rank = KINDS.index(thing.kind)
    if thing.kind == "cue":
        return (rank, place_order(thing.list), "", cue_order(thing.id))
    if thing.kind == "preset":
        group, _, place = thing.id.partition(" ")
        return (rank, (0, 0, ""), group, place_order(place))
    return (rank, (0, 0, ""), "", place_order(thing.id))


def say_place(key: str) -> str:
    """Say a place in words: "1.3" is "page 1 slot 3", "7" is "7"."""
    page, dot, slot = key.partition(".")
    return f"page {page} slot {slot}" if dot else key


def say_thing(thing: Thing) -> str:
    """Say a thing in trade words: "list 1 cue 12.5", "Color preset page 1 slot 3"."""
    match thing.kind:
        case "show":
            return "the show"
        case "cue":
            return f"list {thing.list} cue {thing.id}"
        case "cue_list":
            return f"list {thing.id}"
        case "preset":
            group, _, place = thing.id.partition(" ")
            return f"{group} preset {say_place(place)}"
        case "fixture":
            return f"fixture {say_fixture(thing.id)}"
        case "fixture_type":
            return f"fixture type {thing.id}"
        case kind:
            return f"{kind} {say_place(thing.id)}"


def say_fixture(key: str) -> str:
    """Say a fixture number in words: "101.2" is "101 cell 2"."""
    fixture, dot, cell = key.partition(".")
    return f"{fixture} cell {cell}" if dot else key


def addresses_taken(address: int, footprint: int) -> range:
    """Return the addresses that a footprint takes from a start address on.

    A footprint of 0 takes none (ANSI E1.20: such a device has no start address of its own).
    The range may run past 512 (ANSI E1.11 allows 1 to 512): the check reports it.
    """
    return range(address, address + footprint)
