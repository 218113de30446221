"""Generated shows of a wanted size, and scripted edits: data for measuring, not for proof.

A cue touches 16 to 25 percent of the fixtures and half of its values are preset references, as in
the figures that the limits were set with.
"""

import json
import random
from typing import Any

SIZES = {"0.1 MB": 0.1, "1 MB": 1.0, "7 MB": 7.0, "40 MB": 40.0, "150 MB": 150.0}
"""Megabytes by name."""

_ATTRIBUTES = ("Dimmer", "Pan", "Tilt", "ColorAdd_R", "ColorAdd_G", "ColorAdd_B", "Zoom")
_GROUPS = {
    "Dimmer": "Dimmer",
    "Pan": "Position",
    "Tilt": "Position",
    "ColorAdd_R": "Color",
    "ColorAdd_G": "Color",
    "ColorAdd_B": "Color",
    "Zoom": "Focus",
}
_BYTES_A_VALUE = 29.5


def make_show(megabytes: float, seed: int = 1) -> dict[str, Any]:
    """Return a show whose compact JSON has about so many megabytes."""
    pick = random.Random(seed)
    values = megabytes * 1e6 / _BYTES_A_VALUE
    fixtures = max(12, round((values / 3.5) ** 0.5 * 0.9))
    cues = max(10, round(values / (fixtures * 0.205 * len(_ATTRIBUTES))))
    numbers = [str(100 + index) for index in range(fixtures)]
    presets = {
        group: {
            f"{1 + slot // 24}.{1 + slot % 24}": _preset(pick, group, numbers) for slot in range(24)
        }
        for group in ("Position", "Color", "Focus")
    }
    return {
        "format": "neutral-show",
        "format_version": 1,
        "title": f"Measured show of {megabytes:g} MB",
        "fixture_types": {"spot": {"name": "Spot", "modes": {"16 bit": {"channels": _channels()}}}},
        "patch": {number: _fixture(index, number) for index, number in enumerate(numbers)},
        "groups": {"1": {"name": "All", "fixtures": [int(number) for number in numbers]}},
        "presets": presets,
        "cue_lists": {
            "1": {
                "name": "Main",
                "tracking": True,
                "cues": {str(1 + index): _cue(pick, index, numbers) for index in range(cues)},
            }
        },
        "playbacks": {"1.1": {"cue_list": "1", "name": "Main", "intensity": "highest"}},
    }


def as_bytes(show: dict[str, Any]) -> bytes:
    """Return the show as a desk's export would write it."""
    return json.dumps(show, separators=(", ", ": ")).encode()


def edit(show: dict[str, Any], count: int, seed: int) -> dict[str, Any]:
    """Return the show after so many edits of levels and labels, each in a cue of its own."""
    pick = random.Random(seed)
    edited = dict(show)
    cues = dict(show["cue_lists"]["1"]["cues"])
    chosen = pick.sample(sorted(cues), min(count, len(cues)))
    for index in range(count):
        number = chosen[index % len(chosen)]
        cue = json.loads(json.dumps(cues[number]))
        fixture = pick.choice(sorted(cue["levels"]))
        cue["levels"][fixture]["Dimmer"] = round(pick.uniform(0, 100), 2)
        cue["label"] = f"Edited {seed}.{index}"
        cues[number] = cue
    edited["cue_lists"] = {"1": {**show["cue_lists"]["1"], "cues": cues}}
    return edited


def move_used_preset(show: dict[str, Any], slot: int = 1) -> dict[str, Any]:
    """Return the show after one of 24 presets that most cues use moved to a free place."""
    old, new = f"1.{slot}", f"9.{slot}"
    data = as_bytes(show).replace(f'"Position {old}"'.encode(), f'"Position {new}"'.encode())
    moved = json.loads(data)
    moved["presets"]["Position"][new] = moved["presets"]["Position"].pop(old)
    return moved


def _channels() -> list[dict[str, Any]]:
    return [
        {"attribute": name, "slots": [2 * index + 1, 2 * index + 2], "default": 50 if index else 0}
        for index, name in enumerate(_ATTRIBUTES)
    ]


def _fixture(index: int, number: str) -> dict[str, Any]:
    return {
        "name": f"Spot {number}",
        "type": "spot",
        "mode": "16 bit",
        "addresses": [{"universe": 1 + index // 36, "address": 1 + 14 * (index % 36)}],
        "position": f"Bar {1 + index % 9}",
    }


def _preset(pick: random.Random, group: str, numbers: list[str]) -> dict[str, Any]:
    names = [name for name in _ATTRIBUTES if _GROUPS[name] == group]
    levels = {n: {name: round(pick.uniform(0, 100), 2) for name in names} for n in numbers[:60]}
    return {"name": f"{group} {pick.randrange(100)}", "levels": levels}


def _cue(pick: random.Random, index: int, numbers: list[str]) -> dict[str, Any]:
    share = pick.uniform(0.16, 0.25)
    touched = pick.sample(numbers, max(2, round(len(numbers) * share)))
    return {
        "label": f"Cue {index + 1}",
        "fade_in": pick.choice([0, 2, 3, 5, 8]),
        "levels": {
            number: {
                name: {"preset": f"{_GROUPS[name]} 1.{pick.randint(1, 24)}"}
                if name != "Dimmer" and pick.random() < 0.58
                else round(pick.uniform(0, 100), pick.choice([0, 1, 2]))
                for name in _ATTRIBUTES
            }
            for number in sorted(touched, key=int)
        },
    }
