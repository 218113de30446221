"""Merging held against what two people's known edits have to give (tests/merge/truth.py).

The judge uses nothing of the program; the nights are the benchmark's against git.
"""

import copy

import pytest

from showvault.merge.conflicts import always
from showvault.show.trees import parse_part
from showvault.show.writing import write_show
from tests.merge.nights import NIGHTS, Night, a_night
from tests.merge.three_sides import Result, cues, merge_bytes
from tests.merge.truth import is_true

SEEDS = range(1000, 1008)


def merged(night: Night) -> Result:
    return merge_bytes(night.base, night.mine, night.theirs)


@pytest.mark.parametrize("row", NIGHTS)
def test_what_two_people_did_in_a_night_is_all_there_and_only_due_clashes_are_asked(row: str):
    for seed in SEEDS:
        night = a_night(row, seed)
        result = merged(night)
        if not night.truth.avoidable:
            assert len(result.conflicts) == len(night.truth.clashes), (seed, night.truth.clashes)
        if not result.conflicts:
            assert is_true(result.data, night.truth), seed


@pytest.mark.parametrize("row", NIGHTS)
def test_where_a_value_is_set_to_two_and_mine_is_taken_everything_else_is_of_both(row: str):
    for seed in SEEDS:
        night = a_night(row, seed)
        if night.truth.only_of_values:
            taken = merge_bytes(night.base, night.mine, night.theirs, always("mine"))
            assert is_true(taken.data, night.truth), seed


def test_the_judge_finds_a_lost_edit_a_changed_value_and_a_doubled_key():
    night = a_night("each half of the show", 1)
    data = merged(night).data
    assert is_true(data, night.truth)
    assert not is_true(night.mine, night.truth)
    assert not is_true(night.theirs, night.truth)
    other = copy.deepcopy(parse_part(data))
    cues(other)["5"]["fade_in"] = 99
    assert not is_true(write_show(other), night.truth)
    assert not is_true(data.replace(b'"title"', b'"title": "", "title"', 1), night.truth)
    assert not is_true(data[:-20], night.truth)


def test_the_judge_finds_a_reference_that_stayed_at_a_number_that_is_another_things_now():
    for seed in range(100):
        night = a_night("one renumbers, one programs", seed)
        data = merged(night).data
        show = parse_part(data)
        for cue in cues(show).values():
            for values in cue.get("levels", {}).values():
                for value in values.values():
                    if isinstance(value, dict) and value.get("preset", "").startswith("Color 3."):
                        value["preset"] = "Color 1.1"
                        assert not is_true(write_show(show), night.truth)
                        return
    pytest.fail("no night moved a preset that is in use")
