"""Random shows for looks and reviews: small pools of numbers, so that everything meets everything.

Every construct that a look knows is in them: tracking lists and others, parts, presets of all
three kinds and dangling ones, releases, cells, snap, defaults, doubled attributes, fixtures and
attributes that do not exist. Levels have up to six places.
"""

import random
from decimal import Decimal
from typing import Any

Tree = Any

ATTRIBUTES = ("Dimmer", "ColorAdd_R", "Pan", "Shutter1", "Zoom")
GROUPS = {
    "Dimmer": "Dimmer",
    "ColorAdd_R": "Color",
    "Pan": "Position",
    "Shutter1": "Beam",
    "Zoom": "Focus",
}
FIXTURES = ("1", "2", "12", "101", "102", "103")
KEYS = (*FIXTURES, "101.1", "101.2", "102.1", "999", "101.9")
CUES = ("0", "0.5", "1", "2", "3", "4.125", "9", "9.5", "10", "11", "12", "100")


def a_level(chance: random.Random) -> int | Decimal:
    """A level: often a whole one, sometimes with six places."""
    if chance.random() < 0.6:
        return chance.choice((0, 0, 10, 50, 65, 100))
    return Decimal(chance.randrange(100_000_001)).scaleb(-6)


def a_time(chance: random.Random) -> int | Decimal:
    """A time in seconds."""
    return chance.choice((0, 1, 3, 5, Decimal("2.5"), Decimal("0.125")))


def a_show(chance: random.Random) -> Tree:
    """A show with one or two lists."""
    types = {name: a_type(chance) for name in ("dimmer", "wash", "spot")}
    return {
        "format": "neutral-show",
        "format_version": 1,
        "fixture_types": types,
        "patch": {
            number: a_fixture(chance, number) for number in FIXTURES if chance.random() < 0.85
        },
        "presets": {
            group: {place: a_preset(chance) for place in ("1", "1.3") if chance.random() < 0.8}
            for group in ("Color", "Position", "Dimmer")
        },
        "effects": {
            "1": {
                "cycle_seconds": a_time(chance),
                "attributes": {"Dimmer": {"low": 0, "high": 100}},
            }
        },
        "cue_lists": {
            number: a_list(chance)
            for number in ("1", "2")
            if number == "1" or chance.random() < 0.4
        },
    }


def a_type(chance: random.Random) -> Tree:
    return {
        "name": "type",
        "modes": {
            mode: {
                "channels": channels(chance),
                "cells": {
                    cell: {"channels": channels(chance)}
                    for cell in ("1", "2")
                    if chance.random() < 0.4
                },
            }
            for mode in ("a", "b")
        },
    }


def channels(chance: random.Random) -> list[Tree]:
    found = []
    slot = 1
    for attribute in (*ATTRIBUTES, "Dimmer"):
        if chance.random() > 0.6:
            continue
        count = chance.choice((0, 1, 1, 2, 3))
        channel = {"attribute": attribute, "slots": list(range(slot, slot + count))}
        slot += count
        if chance.random() < 0.5:
            channel["default"] = a_level(chance)
        if chance.random() < 0.2:
            channel["snap"] = chance.choice((True, False))
        if chance.random() < 0.1:
            channel["break"] = 2
        if attribute == "Shutter1":
            channel["functions"] = [
                {"name": "Closed", "from": 0, "to": 10},
                {"name": "Strobe", "from": 10, "to": 90, "physical": [1, 20], "unit": "Hz"},
                {"name": "Open", "from": 90, "to": 100},
            ]
        found.append(channel)
    return found


def a_fixture(chance: random.Random, number: str) -> Tree:
    return {
        "type": chance.choice(("dimmer", "wash", "spot", "spot", "gone")),
        "mode": chance.choice(("a", "a", "a", "b")),
        "addresses": [{"universe": 1, "address": 1 + 20 * FIXTURES.index(number)}],
        **({"invert": ["Pan"]} if chance.random() < 0.2 else {}),
    }


def a_preset(chance: random.Random) -> Tree:
    def values() -> Tree:
        return {name: a_level(chance) for name in ATTRIBUTES if chance.random() < 0.4}

    preset: Tree = {}
    if chance.random() < 0.4:
        preset["all"] = values()
    if chance.random() < 0.6:
        preset["types"] = {name: values() for name in ("wash", "spot") if chance.random() < 0.7}
    if chance.random() < 0.7:
        preset["levels"] = {key: values() for key in KEYS if chance.random() < 0.4}
    return preset


def a_value(chance: random.Random) -> Tree:
    """A stored value of any kind."""
    dice = chance.random()
    if dice < 0.5:
        return a_level(chance)
    value: Tree = {}
    if dice < 0.8:
        place = chance.choice(("1", "1.3", "1.3", "9"))
        value["preset"] = f"{chance.choice(('Color', 'Position', 'Dimmer'))} {place}"
    elif dice < 0.9:
        value["release"] = True
    else:
        value["level"] = a_level(chance)
    if chance.random() < 0.3:
        value["fade"] = a_time(chance)
    if chance.random() < 0.2:
        value["delay"] = a_time(chance)
    return value


def some_levels(chance: random.Random) -> Tree:
    return {
        key: {name: a_value(chance) for name in ATTRIBUTES if chance.random() < 0.4}
        for key in KEYS
        if chance.random() < 0.3
    }


def a_cue(chance: random.Random) -> Tree:
    cue = a_part(chance)
    if chance.random() < 0.3:
        cue["parts"] = {
            number: a_part(chance) for number in ("1", "2", "10") if chance.random() < 0.5
        }
    if chance.random() < 0.3:
        cue["follow"] = {"from": chance.choice(("go", "end")), "seconds": a_time(chance)}
        if chance.random() < 0.3:
            cue["link"] = {"cue": chance.choice(CUES)}
    if chance.random() < 0.5:
        cue["label"] = chance.choice(("Storm", "Calm"))
    return cue


def a_part(chance: random.Random) -> Tree:
    part: Tree = {"levels": some_levels(chance)}
    for field in ("fade_in", "fade_out", "delay_in", "delay_out"):
        if chance.random() < 0.3:
            part[field] = a_time(chance)
    if chance.random() < 0.2:
        group = chance.choice(("Position", "Dimmer", "Color"))
        part["times"] = {group: {"fade": a_time(chance)}}
    return part


def a_list(chance: random.Random) -> Tree:
    cue_list: Tree = {
        "cues": {number: a_cue(chance) for number in CUES if chance.random() < 0.7},
    }
    if chance.random() < 0.6:
        cue_list["tracking"] = chance.choice((True, False))
    return cue_list
