"""Random edits of random shows: what somebody does at a desk between two saves."""

import copy
import random
from typing import Any

from tests.look import shows

Tree = Any


def edit(chance: random.Random, show: Tree) -> None:
    """Make one edit of any kind, in place."""
    chance.choice(EDITS)(chance, show)


def a_list_of(chance: random.Random, show: Tree) -> Tree:
    return show["cue_lists"][chance.choice(sorted(show["cue_lists"]))]


def edit_a_level(chance: random.Random, show: Tree) -> None:
    cues = a_list_of(chance, show)["cues"]
    if cues:
        part = cues[chance.choice(sorted(cues))]
        if "parts" in part and part["parts"] and chance.random() < 0.3:
            part = part["parts"][chance.choice(sorted(part["parts"]))]
        levels = part["levels"].setdefault(chance.choice(shows.KEYS), {})
        attribute = chance.choice(shows.ATTRIBUTES)
        if attribute in levels and chance.random() < 0.4:
            del levels[attribute]
        else:
            levels[attribute] = shows.a_value(chance)


def add_a_cue(chance: random.Random, show: Tree) -> None:
    number = chance.choice((*shows.CUES, "5", "6.5"))
    a_list_of(chance, show)["cues"].setdefault(number, shows.a_cue(chance))


def remove_a_cue(chance: random.Random, show: Tree) -> None:
    cues = a_list_of(chance, show)["cues"]
    if cues:
        del cues[chance.choice(sorted(cues))]


def move_a_cue(chance: random.Random, show: Tree) -> None:
    cues = a_list_of(chance, show)["cues"]
    if cues:
        number = chance.choice((*shows.CUES, "5", "6.5"))
        if number not in cues:
            cues[number] = cues.pop(chance.choice(sorted(cues)))


def copy_a_cue(chance: random.Random, show: Tree) -> None:
    cues = a_list_of(chance, show)["cues"]
    if cues:
        cues["7"] = copy.deepcopy(cues[chance.choice(sorted(cues))])


def edit_a_preset(chance: random.Random, show: Tree) -> None:
    group = chance.choice(sorted(show["presets"]))
    place = chance.choice(("1", "1.3"))
    if chance.random() < 0.2:
        show["presets"][group].pop(place, None)
    else:
        show["presets"][group][place] = shows.a_preset(chance)


def edit_a_type(chance: random.Random, show: Tree) -> None:
    name = chance.choice(sorted(show["fixture_types"]))
    modes = show["fixture_types"][name]["modes"]
    if chance.random() < 0.3:
        modes["a"]["channels"] = shows.channels(chance)
    else:
        for channel in modes["a"]["channels"]:
            channel["default"] = shows.a_level(chance)


def edit_the_patch(chance: random.Random, show: Tree) -> None:
    number = chance.choice(shows.FIXTURES)
    if chance.random() < 0.3:
        show["patch"].pop(number, None)
    else:
        show["patch"][number] = shows.a_fixture(chance, number)


def change_the_tracking(chance: random.Random, show: Tree) -> None:
    a_list_of(chance, show)["tracking"] = chance.choice((True, False))


def change_a_time(chance: random.Random, show: Tree) -> None:
    cues = a_list_of(chance, show)["cues"]
    if cues:
        cues[chance.choice(sorted(cues))]["fade_in"] = shows.a_time(chance)


def change_a_label(chance: random.Random, show: Tree) -> None:
    cues = a_list_of(chance, show)["cues"]
    if cues:
        cues[chance.choice(sorted(cues))]["label"] = chance.choice(("Rain", "Wind"))


EDITS = (
    edit_a_level,
    edit_a_level,
    edit_a_level,
    add_a_cue,
    remove_a_cue,
    move_a_cue,
    copy_a_cue,
    edit_a_preset,
    edit_a_preset,
    edit_a_type,
    edit_the_patch,
    change_the_tracking,
    change_a_time,
    change_a_label,
)
