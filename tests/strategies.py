"""Hypothesis strategies: whole neutral shows as plain trees, every field of the model in them.

``FIELDS`` names a strategy for every field of every object of the model, by hand, so that a field
that is added to the model without one is noticed (tests/show/test_model.py). Numbers come from
small pools, so that references often lead somewhere, and often do not.
"""

import copy
import json
import random
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

from showvault.show import model
from showvault.show.attributes import FEATURE_GROUPS

Tree = Any
Trees = st.SearchStrategy[Tree]

HOSTILE_TEXTS = (
    "",
    "\x1b[2J\x1b]0;owned\x07",
    "<script>alert(1)</script>",
    '=HYPERLINK("http://x")',
    "../../etc/passwd",
    "Łódź – 雷 ⚡ \u202egnp",
    "a\0b",
    "CON",
    "~0~1/~",
)

texts: st.SearchStrategy[str] = st.one_of(
    st.sampled_from(["Storm", "storm", "House to half", *HOSTILE_TEXTS]),
    st.text(st.characters(exclude_categories=["Cs"]), max_size=6),
)
"""Any text that a file can hold: no lone surrogates."""


def decimals(low: int, high: int, places: int) -> st.SearchStrategy[int | Decimal]:
    """Exact decimals of at most so many places, whole ones more often."""
    scale = 10**places
    return st.one_of(
        st.integers(low, high),
        st.integers(low * scale, high * scale).map(lambda n: Decimal(n).scaleb(-places)),
    )


levels = decimals(0, 100, 6)
seconds = decimals(0, 600, 3)
counts = st.integers(0, 100)
physical = decimals(-540, 540, 3)
booleans = st.booleans()

fixture_numbers = st.sampled_from(["1", "2", "12", "101", "102"])
fixture_keys = st.sampled_from(["1", "2", "12", "101", "102", "101.1", "101.2", "999999999.1"])
in_fixture_lists = st.one_of(fixture_keys, fixture_numbers.map(int))
place_keys = st.sampled_from(["0", "1", "7", "1.1", "1.3", "1.10", "2.0", "999999999.999999999"])
cue_keys = st.sampled_from(["0", "0.5", "1", "2", "9", "9.5", "10", "12.25", "999999999.999"])
small_numbers = st.sampled_from(["1", "2", "3", "10"])
type_keys = st.one_of(st.sampled_from(["dimmer", "wash", "Wash"]), texts)
mode_keys = st.one_of(st.sampled_from(["8 bit", "16 bit"]), texts)
attributes = st.one_of(
    st.sampled_from(["Dimmer", "Pan", "Tilt", "ColorAdd_R", "ColorAdd_G", "Gobo1", "Shutter1"]),
    texts,
)
feature_groups = st.sampled_from(FEATURE_GROUPS)
preset_names = st.builds("{} {}".format, feature_groups, place_keys)

json_values: Trees = st.recursive(
    st.one_of(
        st.none(),
        st.booleans(),
        st.integers(-(10**15), 10**15),
        decimals(-1000, 1000, 9),
        texts,
    ),
    lambda inner: st.one_of(st.lists(inner, max_size=2), st.dictionaries(texts, inner, max_size=2)),
    max_leaves=4,
)
"""Anything: what ``extra`` may hold."""


def by(keys: st.SearchStrategy[str], values: Trees, most: int = 3) -> Trees:
    """A map from keys to values."""
    return st.dictionaries(keys, values, max_size=most)


def pairs(values: Trees) -> Trees:
    """Two numbers as a list."""
    return st.lists(values, min_size=2, max_size=2)


plain_levels = by(fixture_keys, by(attributes, levels))
FIELDS: dict[type, dict[str, Trees]] = {}
"""For every object of the model the strategy of each of its fields, by the field's written name."""


def objects(of: type) -> Trees:
    """Objects of a kind: required fields always, each other one half of the time."""
    return st.deferred(lambda: _objects(of))


_BUILT: dict[type, Trees] = {}


def _objects(of: type) -> Trees:
    if of not in _BUILT:
        fields = FIELDS[of]
        required = {name: fields[name] for name in REQUIRED.get(of, ())}
        optional = {name: values for name, values in fields.items() if name not in required}
        _BUILT[of] = st.fixed_dictionaries(required, optional=optional)
    return _BUILT[of]


REQUIRED: Mapping[type, tuple[str, ...]] = {
    model.Show: ("format", "format_version"),
    model.Fixture: ("type", "mode"),
    model.Channel: ("attribute", "slots"),
    model.StartAddress: ("universe", "address"),
}

_times = {"fade": seconds, "delay": seconds}
stored_values: Trees = st.one_of(
    st.fixed_dictionaries({"level": levels}, optional={**_times, "extra": json_values}),
    st.fixed_dictionaries({"preset": preset_names}, optional={**_times, "extra": json_values}),
    st.fixed_dictionaries({"release": st.just(True)}, optional={**_times, "extra": json_values}),
)
values: Trees = st.one_of(levels, stored_values)
value_maps = by(fixture_keys, by(attributes, values))

FIELDS |= {
    model.Capacity: {
        "universes": counts,
        "pages": counts,
        "slots_per_page": counts,
        "playbacks_per_page": counts,
    },
    model.Curve: {"name": texts, "points": st.lists(pairs(levels), max_size=3)},
    model.ChannelFunction: {
        "name": texts,
        "from": levels,
        "to": levels,
        "physical": pairs(physical),
        "unit": st.sampled_from(["Hz", "deg", "rpm"]),
    },
    model.Channel: {
        "attribute": attributes,
        "slots": st.lists(st.integers(1, 512), max_size=3, unique=True),
        "default": levels,
        "highlight": levels,
        "snap": booleans,
        "range": pairs(physical),
        "unit": st.sampled_from(["deg", "K", "%"]),
        "break": st.integers(1, 3),
        "functions": st.lists(objects(model.ChannelFunction), max_size=2),
    },
    model.Cell: {"channels": st.lists(objects(model.Channel), max_size=2)},
    model.Mode: {
        "channels": st.lists(objects(model.Channel), max_size=3),
        "cells": by(small_numbers, objects(model.Cell), most=2),
    },
    model.FixtureType: {
        "name": texts,
        "hazards": st.lists(st.sampled_from(model.Hazard.__args__), max_size=3, unique=True),
        "modes": by(mode_keys, objects(model.Mode), most=2),
    },
    model.StartAddress: {
        "universe": st.one_of(st.integers(1, 3), st.just(63999)),
        "address": st.integers(1, 512),
        "break": st.integers(1, 3),
        "scale": levels,
        "curve": place_keys,
    },
    model.Fixture: {
        "type": type_keys,
        "mode": mode_keys,
        "name": texts,
        "addresses": st.lists(objects(model.StartAddress), max_size=2),
        "position": texts,
        "unit_number": texts,
        "purpose": texts,
        "color": texts,
        "gobo": texts,
        "accessories": texts,
        "circuit": texts,
        "load": decimals(0, 5000, 3),
        "invert": st.lists(attributes, max_size=2),
        "swap_pan_tilt": booleans,
        "notes": texts,
    },
    model.Group: {"name": texts, "fixtures": st.lists(in_fixture_lists, max_size=4)},
    model.Preset: {
        "name": texts,
        "all": by(attributes, levels),
        "types": by(type_keys, by(attributes, levels), most=2),
        "levels": plain_levels,
    },
    model.EffectRange: {
        "low": decimals(-100, 100, 6),
        "high": decimals(-100, 100, 6),
        "relative": booleans,
    },
    model.Effect: {
        "name": texts,
        "wave": st.sampled_from(["sine", "square", "ramp"]),
        "cycle_seconds": seconds,
        "spread": physical,
        "attributes": by(attributes, objects(model.EffectRange), most=2),
        "fixtures": st.lists(in_fixture_lists, max_size=4),
    },
    model.Macro: {"name": texts, "steps": st.lists(texts, max_size=3)},
    model.StoredValue: {
        "level": levels,
        "preset": preset_names,
        "release": st.just(True),
        **_times,
    },
    model.Submaster: {
        "name": texts,
        "mode": st.sampled_from(["add", "inhibit"]),
        "levels": value_maps,
    },
    model.ClassTimes: dict(_times),
    model.Follow: {"from": st.sampled_from(["go", "end"]), "seconds": seconds},
    model.Link: {"list": place_keys, "cue": cue_keys},
    model.Trigger: {
        "kind": st.sampled_from(["timecode", "sound", "follow"]),
        "at": st.sampled_from(["01:02:03:12", "00:00:00:00"]),
        "rate": st.sampled_from([24, 25, Decimal("29.97"), 30]),
    },
    model.CueEffect: {
        "state": st.sampled_from(["start", "stop", "release"]),
        "rate": decimals(0, 10, 3),
        "size": decimals(0, 2, 3),
    },
    model.Part: {
        "label": texts,
        "notes": texts,
        "fade_in": seconds,
        "fade_out": seconds,
        "delay_in": seconds,
        "delay_out": seconds,
        "times": by(feature_groups, objects(model.ClassTimes), most=2),
        "levels": value_maps,
        "effects": by(place_keys, objects(model.CueEffect), most=2),
    },
    model.CueList: {
        "name": texts,
        "tracking": booleans,
        "dark_moves": st.sampled_from(["as_stored", "automatic"]),
        "cues": by(cue_keys, objects(model.Cue), most=4),
    },
    model.Playback: {
        "name": texts,
        "cue_list": place_keys,
        "intensity": st.sampled_from(["highest", "latest"]),
        "priority": st.integers(0, 200),
    },
    model.OpaqueFile: {
        "name": texts,
        "size": st.integers(0, 2**40),
        "sha256": st.binary(min_size=32, max_size=32).map(bytes.hex),
    },
    model.Show: {
        "format": st.just("neutral-show"),
        "format_version": st.just(1),
        "title": texts,
        "venue": texts,
        "notes": texts,
        "capacity": objects(model.Capacity),
        "curves": by(place_keys, objects(model.Curve), most=2),
        "fixture_types": by(type_keys, objects(model.FixtureType), most=2),
        "patch": by(fixture_numbers, objects(model.Fixture)),
        "groups": by(place_keys, objects(model.Group), most=2),
        "presets": by(feature_groups, by(place_keys, objects(model.Preset), most=2), most=2),
        "effects": by(place_keys, objects(model.Effect), most=2),
        "macros": by(place_keys, objects(model.Macro), most=2),
        "submasters": by(place_keys, objects(model.Submaster), most=2),
        "cue_lists": by(place_keys, objects(model.CueList), most=2),
        "playbacks": by(place_keys, objects(model.Playback), most=2),
        "files": by(texts, objects(model.OpaqueFile), most=1),
    },
}
FIELDS[model.Cue] = {
    **FIELDS[model.Part],
    "scene": texts,
    "script_page": texts,
    "called_on": texts,
    "block": booleans,
    "follow": objects(model.Follow),
    "link": objects(model.Link),
    "trigger": objects(model.Trigger),
    "also_go": st.lists(objects(model.Link), max_size=2),
    "parts": by(small_numbers, objects(model.Part), most=2),
}
for _of in FIELDS:
    FIELDS[_of]["extra"] = json_values

shows: Trees = objects(model.Show)
"""Whole shows that keep the rules of the format; what they refer to may be missing."""


near_misses: Trees = st.sampled_from(
    [
        *map(Decimal, ["0.1234", "0.12345678", "1E+3", "1E-7", "100.000001", "-0.5", "5E-324"]),
        {"level": 1, "preset": "Color 1"},
        {"preset": "Color 1", "fade": 1, "release": True},
        {"fade": 1},
        {"delay": 1, "fade": 1},
        {"level": 1, "fade": Decimal("1.2345")},
        {"release": True, "extra": {"fade": 1, "level": 1}},
        {"extra": {"level": 1, "preset": "x"}},
        {"0": {}, "01": {}, "1.50": {}},
        {"1": {"Dimmer": {"fade": 3}}},
        'a "level": 1, "preset": text',
        513,
        10**400,
    ]
).map(copy.deepcopy)
"""What is nearly right, or looks nearly wrong to a reader that is in a hurry."""


@st.composite
def damaged(draw: st.DrawFn, tree: Tree) -> Tree:
    """A tree in which one place, at any depth, is something else, gone, or has another key."""
    tree = copy.deepcopy(tree)
    node, holder, key = tree, None, None
    while isinstance(node, dict | list) and node and draw(st.integers(0, 8)):
        keys = sorted(node) if isinstance(node, dict) else range(len(node))
        holder, key = node, draw(st.sampled_from(keys))
        node = node[key]
    if holder is None:
        return tree
    match draw(st.sampled_from(["replace", "replace", "drop", "rename"])):
        case "rename" if isinstance(holder, dict):
            name = draw(st.sampled_from(["0", "01", "1.5", "1.50", "1.2345", "level", "x"]))
            holder[name] = holder.pop(key)
        case "drop":
            del holder[key]
        case _:
            holder[key] = draw(st.one_of(near_misses, json_values))
    return tree


def spellings(tree: Tree) -> st.SearchStrategy[bytes]:
    """Ways to write one tree: any spacing, any order of keys, any spelling of a number or text."""
    return st.integers(0, 2**32).map(lambda roll: spell(tree, random.Random(roll)))


def spell(tree: Tree, chance: random.Random) -> bytes:
    """Write a tree in one of the ways that JSON (RFC 8259) allows."""
    return (_space(chance) + _spelled(tree, chance) + _space(chance)).encode()


def _spelled(tree: Tree, chance: random.Random) -> str:
    match tree:
        case dict():
            members = [
                f"{_spelled(key, chance)}{_space(chance)}:{_space(chance)}{_spelled(value, chance)}"
                for key, value in chance.sample(list(tree.items()), len(tree))
            ]
            return "{" + _joined(members, chance) + "}"
        case list():
            return "[" + _joined([_spelled(item, chance) for item in tree], chance) + "]"
        case str() if chance.random() < 0.3:
            return json.dumps(tree, ensure_ascii=True)
        case str():
            return json.dumps(tree, ensure_ascii=False)
        case Decimal():
            return chance.choice([f"{tree:f}", f"{tree:E}", f"{tree:e}"])
        case _:
            return json.dumps(tree)


def _joined(items: list[str], chance: random.Random) -> str:
    return _space(chance) + f"{_space(chance)},{_space(chance)}".join(items) + _space(chance)


def _space(chance: random.Random) -> str:
    return chance.choice(["", "", "", " ", "\n", "\t\r\n  "])
