"""Nights on which two people work on one show, by how near they come to each other."""

import random
from dataclasses import dataclass

from showvault.show.writing import write_show
from tests.merge.known_edits import (
    COMING_AND_GOING,
    LIGHTING,
    PATCHING,
    PROGRAMMING,
    RENUMBERING,
)
from tests.merge.known_show import KnownShow, a_known_show, cues_of, written
from tests.merge.people import Edit, Person, at_work
from tests.merge.truth import Truth, find_truth

Plan = tuple[tuple[Edit, ...], str, int]
"""What somebody does, on which share of the show, and how many edits at most."""

EVERYTHING = (*PROGRAMMING, *COMING_AND_GOING)
NIGHTS: dict[str, tuple[Plan, Plan]] = {
    "each half of the show": ((EVERYTHING, "first", 24), (EVERYTHING, "second", 24)),
    "every other cue and light": ((PROGRAMMING, "odd", 24), (PROGRAMMING, "even", 24)),
    "every other cue, cues come and go": (
        ((*PROGRAMMING[::3], *COMING_AND_GOING), "odd", 10),
        ((*PROGRAMMING[::3], *COMING_AND_GOING), "even", 10),
    ),
    "one scene, every other light": ((LIGHTING, "scene odd", 24), (LIGHTING, "scene even", 24)),
    "one renumbers, one programs": ((RENUMBERING, "all", 3), (EVERYTHING, "all", 24)),
    "one renumbers and programs, one programs": (
        ((*PROGRAMMING, *RENUMBERING), "all", 12),
        (EVERYTHING, "all", 12),
    ),
    "one patches, one programs": ((PATCHING, "all", 16), (EVERYTHING, "all", 24)),
    "both anywhere in the show": ((EVERYTHING, "all", 16), (EVERYTHING, "all", 16)),
}


@dataclass(frozen=True)
class Night:
    """Three shows as bytes, and what their merge has to give."""

    base: bytes
    mine: bytes
    theirs: bytes
    truth: Truth


def a_night(row: str, seed: int) -> Night:
    """Return a night of a kind; everything follows from the seed."""
    base = a_known_show(random.Random(f"base {seed}"))
    mine, theirs = (
        at_work(
            Person(name, base, random.Random(f"{row} {name} {seed}"), *_share(base, share)),
            edits,
            most,
        )
        for name, (edits, share, most) in zip(("ada", "ben"), NIGHTS[row], strict=True)
    )
    shows = (base, mine.show, theirs.show)
    one, other, third = (write_show(written(show, missing=base)) for show in shows)
    return Night(one, other, third, find_truth(mine, theirs))


def _share(show: KnownShow, share: str) -> tuple[list[str], list[str]]:
    """Return the things somebody works on, and the lights among them."""
    scene, _, part = share.rpartition(" ")
    main = cues_of(show, "list 1")
    cues = [main[10:18]] if scene else [_part(of, part) for of in (main, cues_of(show, "list 2"))]
    kinds = [
        _part([who for who, entry in show.items() if entry.kind == kind], part)
        for kind in ("fixture", "group", "preset")
    ]
    return [who for of_kind in (*cues, *kinds) for who in of_kind], kinds[0]


def _part(things: list[str], part: str) -> list[str]:
    match part:
        case "first":
            return things[: len(things) // 2]
        case "second":
            return things[len(things) // 2 :]
        case "odd":
            return things[::2]
        case "even":
            return things[1::2]
        case _:
            return things
