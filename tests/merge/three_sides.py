"""Three shows merged through their bytes, from plain trees."""

import copy
from collections.abc import Callable
from typing import NamedTuple

from showvault.merge.conflicts import Conflict, Decide, leave_open
from showvault.merge.merger import merge_shows, write_merged
from showvault.show.cutting import cut_into_parts
from showvault.show.parts import parts_of
from showvault.show.reading import find_faults
from showvault.show.trees import parse_part
from showvault.show.writing import write_show
from tests.builders import Tree, a_cue, a_show_of_cues

Edit = Callable[[Tree], object]


class Result(NamedTuple):
    """A merged show, its bytes and what is left to decide."""

    show: Tree
    data: bytes
    conflicts: tuple[Conflict, ...]


def four_cues() -> Tree:
    """Four cues over dimmers and a wash light, a preset and a group."""
    return a_show_of_cues(
        {
            "1": a_cue({"1": {"Dimmer": 50}}, label="House to half"),
            "2": a_cue({"2": {"Dimmer": 60}, "101": {"Dimmer": 30}}, label="Storm breaks"),
            "3": a_cue({"3": {"Dimmer": 70}}, label="Calm", link={"cue": "1"}),
            "4": a_cue({"4": {"Dimmer": 80}}, label="Dawn"),
        },
        presets={"Color": {"1.3": {"name": "Amber", "levels": {"101": {"ColorAdd_R": 100}}}}},
        groups={"1": {"name": "Bars", "fixtures": [1, 2, 3, 4]}},
    )


def merge_bytes(base: bytes, mine: bytes, theirs: bytes, decide: Decide = leave_open) -> Result:
    cuts = [cut_into_parts(data) for data in (base, mine, theirs)]
    one, other, third = (parts_of(cut) for cut in cuts if cut is not None)
    merged = merge_shows(one, other, third, decide)
    assert cuts[1] is not None
    data = write_merged(cuts[1], merged)
    return Result(parse_part(data), data, merged.conflicts)


def merge_trees(base: Tree, mine: Tree, theirs: Tree, decide: Decide = leave_open) -> Result:
    return merge_bytes(write_show(base), write_show(mine), write_show(theirs), decide)


def edited(base: Tree, *edits: Edit) -> Tree:
    """Return a copy of a show after some edits in place."""
    show = copy.deepcopy(base)
    for edit in edits:
        edit(show)
    return show


def merge_edits(base: Tree, mine: Edit, theirs: Edit, decide: Decide = leave_open) -> Result:
    """Merge what two people made of one show."""
    result = merge_trees(base, edited(base, mine), edited(base, theirs), decide)
    assert find_faults(result.data) == []
    return result


def cues(show: Tree, number: str = "1") -> Tree:
    return show["cue_lists"][number]["cues"]


def renumber(show: Tree, by: int, number: str = "1") -> None:
    """Move every cue of a list up, links along."""
    held = cues(show, number)
    for cue in held.values():
        if "link" in cue:
            cue["link"]["cue"] = _up(cue["link"]["cue"], by)
    show["cue_lists"][number]["cues"] = {_up(key, by): cue for key, cue in held.items()}


def _up(number: str, by: int) -> str:
    whole, dot, places = number.partition(".")
    return f"{int(whole) + by}{dot}{places}"
