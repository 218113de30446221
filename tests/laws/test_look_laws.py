"""The look law: a look depends on the cues before it, the presets and the fixtures' types alone.

The rules are common practice without a published source; tests/look/slow_walk.py is the independent
computation straight from them.
"""

import copy
import json
import os
import random
from decimal import Decimal

import msgspec
from hypothesis import given, settings
from hypothesis import strategies as st

from showvault.look.fixtures import rig_of
from showvault.look.levels import percent_of
from showvault.look.storing import Stored
from showvault.look.timing import times_of
from showvault.look.tracking import (
    Look,
    all_looks,
    look_as_json,
    look_at,
    look_of,
    retrack,
    row_at,
    table_of,
    track_list,
)
from showvault.show.model import Show
from showvault.show.reading import decode_show
from showvault.show.writing import write_show
from tests.look import shows
from tests.look.slow_walk import slow_looks, slow_time

MANY = settings(max_examples=int(os.environ.get("SHOWVAULT_LOOKS", "250")), deadline=None)
seeds = st.integers(0, 2**48)


def as_show(tree: shows.Tree) -> Show:
    return decode_show(write_show(tree))


def as_decimals(look: Look) -> dict[tuple[str, str], Decimal]:
    return {
        (key, attribute): percent_of(level)
        for key, levels in look.levels.items()
        for attribute, level in levels.items()
    }


@MANY
@given(seeds)
def test_every_look_agrees_with_the_slow_walk_to_the_last_decimal(seed):
    tree = shows.a_show(random.Random(seed))
    show = as_show(tree)
    for number in tree["cue_lists"]:
        table = all_looks(show, number)
        expected = slow_looks(tree, number)
        assert list(table.cues) == sorted(expected, key=Decimal)
        for cue, of_cue in expected.items():
            assert as_decimals(table.look(cue)) == of_cue


@MANY
@given(seeds)
def test_a_look_in_json_holds_the_numbers_of_the_file(seed):
    tree = shows.a_show(random.Random(seed))
    table = all_looks(as_show(tree), "1")
    for cue, expected in slow_looks(tree, "1").items():
        text = msgspec.json.encode(look_as_json(table.look(cue)))
        read = json.loads(text, parse_float=Decimal)
        assert {(k, a): v for k, of_key in read.items() for a, v in of_key.items()} == expected


@settings(max_examples=60, deadline=None)
@given(seeds)
def test_one_look_from_its_keyframe_is_the_row_of_the_whole_table(seed):
    chance = random.Random(seed)
    tree = shows.a_show(chance)
    cues = {str(number): shows.a_cue(chance) for number in range(100)}
    tree["cue_lists"]["1"]["cues"] = cues
    tracked = track_list(as_show(tree), "1")
    table = table_of(tracked)
    for number in range(len(cues)):
        assert row_at(tracked, number).tolist() == table.levels[number].tolist()


@settings(max_examples=60, deadline=None)
@given(seeds)
def test_tracking_again_after_an_edit_is_tracking_from_the_start(seed):
    chance = random.Random(seed)
    tree = shows.a_show(chance)
    tree["cue_lists"]["1"]["cues"] = {str(number): shows.a_cue(chance) for number in range(80)}
    before = track_list(as_show(tree), "1")
    edited = copy.deepcopy(tree)
    cues = edited["cue_lists"]["1"]["cues"]
    changed = {str(chance.randrange(80)) for _ in range(chance.randrange(3))}
    for number in changed:
        cues[number] = shows.a_cue(chance)
    if chance.random() < 0.5:
        del cues[str(chance.randrange(80))]
    if chance.random() < 0.5:
        cues["12.5"] = shows.a_cue(chance)
        changed.add("12.5")
    if chance.random() < 0.2:
        edited["cue_lists"]["1"]["tracking"] = chance.choice((True, False))
    show = as_show(edited)
    again, afresh = retrack(before, show, changed), track_list(show, "1")
    for cue in afresh.cues:
        assert look_of(again, cue) == look_of(afresh, cue)


@MANY
@given(seeds)
def test_a_look_does_not_depend_on_later_cues_other_lists_or_times(seed):
    chance = random.Random(seed)
    tree = shows.a_show(chance)
    cues = tree["cue_lists"]["1"]["cues"]
    if not cues:
        return
    cue = chance.choice(sorted(cues))
    before = look_at(as_show(tree), "1", cue)
    for number in list(cues):
        if Decimal(number) > Decimal(cue):
            del cues[number]
        else:
            cues[number] |= {"fade_in": 7, "label": "x", "follow": {"from": "go", "seconds": 1}}
    tree["cue_lists"]["2"] = shows.a_list(chance)
    del tree["effects"]
    assert look_at(as_show(tree), "1", cue) == before


@MANY
@given(seeds)
def test_the_times_of_every_value_agree_with_the_slow_walk(seed):
    tree = shows.a_show(random.Random(seed))
    show = as_show(tree)
    rig = rig_of(show)
    for number, cue in show.cue_lists["1"].cues.items():
        plain = tree["cue_lists"]["1"]["cues"][number]
        for name in (None, *(cue.parts or {})):
            holder, part = (cue, plain) if name is None else (cue.parts[name], plain["parts"][name])
            for key, values in (holder.levels or {}).items():
                for attribute, value in values.items():
                    for direction in ("in", "out") if attribute == "Dimmer" else ("in",):
                        found = times_of(
                            rig, cue, Stored("", holder, value), key, attribute, direction
                        )
                        fade, delay = (
                            slow_time(
                                plain,
                                part,
                                part["levels"][key][attribute],
                                attribute,
                                shows.GROUPS[attribute],
                                direction == "out",
                                what,
                            )
                            for what in ("fade", "delay")
                        )
                        if rig.snaps(key, attribute):
                            fade = Decimal(0)
                        assert (found.fade, found.delay) == (fade * 1000, delay * 1000)
