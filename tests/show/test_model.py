"""Every field of the format has a generator, a reading test and a comparison test."""

import itertools
from collections.abc import Iterator
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, Phase, find, settings
from msgspec import inspect

from showvault.compare.differ import compare_shows
from showvault.show import model
from showvault.show.faults import find_faults_in
from showvault.show.model import Show
from showvault.show.parts import parts_of_file
from showvault.show.places import pointer_to
from showvault.show.writing import write_show
from tests import strategies
from tests.builders import a_show


def objects_of_the_model() -> dict[type, inspect.StructType]:
    """Every kind of object that the type of a show leads to."""
    found: dict[type, inspect.StructType] = {}

    def walk(kind: inspect.Type) -> None:
        match kind:
            case inspect.Metadata():
                walk(kind.type)
            case inspect.UnionType():
                for choice in kind.types:
                    walk(choice)
            case inspect.DictType():
                walk(kind.value_type)
            case inspect.ListType():
                walk(kind.item_type)
            case inspect.StructType() if kind.cls not in found:
                found[kind.cls] = kind
                for field in kind.fields:
                    walk(field.type)

    walk(inspect.type_info(Show))
    return found


OBJECTS = objects_of_the_model()
FIELDS = sorted(
    (cls.__name__, field.encode_name) for cls, kind in OBJECTS.items() for field in kind.fields
)
WHERE = {
    "Show": (),
    "Capacity": ("capacity",),
    "Curve": ("curves", "2"),
    "FixtureType": ("fixture_types", "wash"),
    "Mode": ("fixture_types", "wash", "modes", "8 bit"),
    "Cell": ("fixture_types", "wash", "modes", "8 bit", "cells", "1"),
    "Channel": ("fixture_types", "wash", "modes", "8 bit", "channels", 0),
    "ChannelFunction": ("fixture_types", "wash", "modes", "8 bit", "channels", 0, "functions", 0),
    "Fixture": ("patch", "101"),
    "StartAddress": ("patch", "101", "addresses", 0),
    "Group": ("groups", "1.1"),
    "Preset": ("presets", "Color", "1.3"),
    "Effect": ("effects", "1.1"),
    "EffectRange": ("effects", "1.1", "attributes", "Dimmer"),
    "Macro": ("macros", "1.1"),
    "Submaster": ("submasters", "1"),
    "StoredValue": ("submasters", "1", "levels", "101", "Dimmer"),
    "CueList": ("cue_lists", "1"),
    "Cue": ("cue_lists", "1", "cues", "12.5"),
    "Part": ("cue_lists", "1", "cues", "12.5", "parts", "2"),
    "ClassTimes": ("cue_lists", "1", "cues", "12.5", "times", "Position"),
    "Follow": ("cue_lists", "1", "cues", "12.5", "follow"),
    "Link": ("cue_lists", "1", "cues", "12.5", "link"),
    "Trigger": ("cue_lists", "1", "cues", "12.5", "trigger"),
    "CueEffect": ("cue_lists", "1", "cues", "12.5", "effects", "1.1"),
    "Playback": ("playbacks", "1.1"),
    "OpaqueFile": ("files", "desk.bin"),
}
"""A path to one object of each kind."""

FIXED = {("Show", "format"), ("Show", "format_version")}
"""Fields that have one value in every show of this format."""

ONE_VALUE = {("StoredValue", "release")}
"""Fields that are either absent or have their one value."""

LEAST = {
    "Fixture": {"type": "wash", "mode": "8 bit"},
    "StartAddress": {"universe": 1, "address": 1},
    "Channel": {"attribute": "Dimmer", "slots": [1]},
    "StoredValue": {"level": 1},
}


def a_show_with(name: str, field: str, value: object, *, leave_out: bool = False) -> dict:
    """The smallest show in which one object of this kind has this value in this field."""
    show = a_show()
    node, kinds = show, {path: kind for kind, path in WHERE.items()}
    path = WHERE[name]
    for depth, token in enumerate(path, start=1):
        in_a_list = depth < len(path) and isinstance(path[depth], int)
        fresh = [] if in_a_list else dict(LEAST.get(kinds.get(path[:depth], ""), {}))
        if isinstance(node, list):
            node.append(fresh)
            node = fresh
        else:
            node = node.setdefault(token, fresh)
    if name == "StoredValue":
        node.clear()
        node |= {} if field in ("level", "preset", "release") else {"level": 1}
    if leave_out:
        if field in LEAST.get(name, {}):
            node[field] = [] if field == "slots" else LEAST[name][field]
        elif name == "StoredValue" and not node:
            node["level"] = 0
    else:
        node[field] = value
    return show


@pytest.mark.parametrize(("name", "field"), FIELDS)
def test_every_field_has_a_generator(name: str, field: str) -> None:
    assert field in strategies.FIELDS[getattr(model, name)]


def test_no_generator_is_left_of_a_field_that_is_gone() -> None:
    known = set(FIELDS)
    for of, fields in strategies.FIELDS.items():
        assert {(of.__name__, field) for field in fields} <= known


@pytest.mark.parametrize(("name", "field"), FIELDS)
def test_every_field_is_read_with_a_value_of_its_own_and_told_with_a_wrong_one(
    name: str, field: str
) -> None:
    values = strategies.FIELDS[getattr(model, name)][field]
    value = find(values, lambda drawn: drawn not in ("", [], {}), settings=_QUICK)
    assert find_faults_in(a_show_with(name, field, value), Show) == []
    if field == "extra":  # anything goes there
        return
    where = pointer_to([str(token) for token in (*WHERE[name], field)])
    for wrong in _wrong_ones(value):
        told = find_faults_in(a_show_with(name, field, wrong), Show)
        assert any(fault.pointer.startswith(where) for fault in told), wrong


@pytest.mark.parametrize(("name", "field"), FIELDS)
def test_every_field_that_changes_is_told_by_the_comparison_and_the_way_back_too(
    name: str, field: str
) -> None:
    if (name, field) in FIXED:
        return
    shows = [write_show(a_show_with(name, field, None, leave_out=True))]
    values = strategies.FIELDS[getattr(model, name)][field].map(
        lambda value: write_show(a_show_with(name, field, value))
    )
    for _ in range(1 if (name, field) in ONE_VALUE else 2):
        shows.append(find(values, lambda show: show not in shows, settings=_QUICK))
    for before, after in itertools.permutations(map(parts_of_file, shows), 2):
        assert compare_shows(before, after).changes
        assert not compare_shows(before, before).changes


@pytest.mark.parametrize("section", sorted(strategies.FIELDS[Show]))
def test_generated_shows_have_every_section(section: str) -> None:
    find(strategies.shows, lambda show: show.get(section), settings=_QUICK)


_QUICK = settings(
    max_examples=500,
    database=None,
    derandomize=True,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)


def _wrong_ones(value: object) -> Iterator[object]:
    """A null, which is not allowed anywhere, and a value of each other kind that JSON knows."""
    yield None
    for other in ("text", True, {"a key": 1}, ["an item"], 7):
        if _kind(other) is not _kind(value):
            yield other


def _kind(value: object) -> type:
    return int if isinstance(value, Decimal) else type(value)
