"""Parts of a comparison."""

import copy

from showvault.compare.changes import Comparison
from showvault.compare.filters import (
    fixtures_of_group,
    keep_cues,
    keep_fixtures,
    keep_kinds,
    keep_lists,
)
from tests.builders import a_cue, a_list, a_rig
from tests.compare.pairs import comparison_of


def edited() -> Comparison:
    def cue(n: int) -> object:
        return a_cue({"101": {"Dimmer": n}, "101.2": {"Dimmer": n}, "2": {"Dimmer": n}})

    before = a_rig(
        groups={"1": {"name": "Front", "fixtures": [1, 101]}},
        cue_lists={
            "1": a_list({str(n): cue(n) for n in (9, 10, 11)}),
            "2": a_list({"10": cue(50)}),
        },
    )
    after = copy.deepcopy(before)
    lists = after["cue_lists"]
    for number in ("9", "10"):
        lists["1"]["cues"][number]["levels"]["101"]["Dimmer"] = 77
    lists["1"]["cues"]["9.5"] = a_cue({"2": {"Dimmer": 1}})
    lists["2"]["cues"]["10"]["levels"]["2"]["Dimmer"] = 78
    lists["1"]["cues"]["11"]["levels"]["101.2"]["Dimmer"] = 79
    after["groups"]["1"]["fixtures"] = [1, 102]
    after["patch"]["3"]["notes"] = "lamp changed"
    return comparison_of(before, after)


def told(comparison: Comparison) -> list[str]:
    return [f"{change.thing.list}/{change.thing.id}" for change in comparison.changes]


def test_one_list_is_kept():
    assert told(keep_lists(edited(), {"2"})) == ["2/10"]


def test_a_range_of_cues_includes_both_ends_and_the_points_between():
    assert told(keep_cues(edited(), "9", "10")) == ["1/9", "1/9.5", "1/10"]


def test_kinds_are_kept():
    assert told(keep_kinds(edited(), {"fixture", "group"})) == ["/3", "/1"]


def test_a_fixture_is_kept_with_its_cells_and_where_it_joined_or_left():
    assert told(keep_fixtures(edited(), {"101"})) == ["/1", "1/9", "1/10", "1/11"]


def test_a_cell_is_kept_alone():
    assert told(keep_fixtures(edited(), {"101.2"})) == ["1/11"]


def test_a_new_cue_is_kept_where_it_stores_the_fixture():
    assert told(keep_fixtures(edited(), {"2"})) == ["1/9.5", "2/10"]


def test_the_patch_of_a_fixture_is_kept():
    assert told(keep_fixtures(edited(), {"3"})) == ["/3"]


def test_a_group_gives_its_fixtures():
    assert fixtures_of_group({"fixtures": [101, "101.2"]}) == {"101", "101.2"}
    assert fixtures_of_group({}) == frozenset()
