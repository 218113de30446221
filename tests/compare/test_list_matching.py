"""Which list is which: by number, unless its cues say otherwise."""

import copy

from showvault.compare.applying import apply_comparison, invert_comparison
from showvault.compare.changes import Changed, Moved, Removed
from showvault.show.addressing import Thing
from tests.builders import Tree, a_list, a_show
from tests.compare.pairs import comparison_of
from tests.compare.test_matching import a_full_cue, kinds


def a_named_list(name: str, first: int, count: int = 5) -> Tree:
    cues = {str(n): a_full_cue(first + n) for n in range(1, count + 1)}
    return a_list(cues, name=name)


def three_lists() -> Tree:
    lists = {"1": a_named_list("Main", 0), "2": a_named_list("Pit", 10)}
    lists["5"] = a_named_list("House", 20)
    return a_show(cue_lists=lists, playbacks={"1.1": {"cue_list": "5"}})


def a_list_thing(number: str) -> Thing:
    return Thing("cue_list", number)


def test_two_lists_that_exchanged_numbers_both_moved():
    before, after = three_lists(), three_lists()
    lists = after["cue_lists"]
    lists["2"], lists["5"] = lists["5"], lists["2"]
    after["playbacks"]["1.1"]["cue_list"] = "2"
    assert kinds(before, after) == [
        (Moved, a_list_thing("2"), a_list_thing("5")),
        (Moved, a_list_thing("5"), a_list_thing("2")),
    ]


def test_a_list_that_was_given_the_number_of_one_that_is_gone_moved():
    before, after = three_lists(), three_lists()
    after["cue_lists"]["2"] = after["cue_lists"].pop("5")
    after["playbacks"]["1.1"]["cue_list"] = "2"
    told = [(Removed, a_list_thing("2")), (Moved, a_list_thing("2"), a_list_thing("5"))]
    assert kinds(before, after) == told
    comparison = comparison_of(before, after)
    assert apply_comparison(comparison, before) == after
    assert apply_comparison(invert_comparison(comparison), after) == before


def test_a_list_whose_cues_were_all_rewritten_keeps_its_number():
    before, after = three_lists(), three_lists()
    after["cue_lists"]["2"]["cues"] = a_named_list("Pit", 60)["cues"]
    changed = {change.thing.list for change in comparison_of(before, after).changes}
    assert changed == {"2"}
    assert {kind for kind, *_ in kinds(before, after)} == {Changed}


def test_a_list_that_moved_is_known_by_its_name_though_half_of_its_cues_were_edited():
    before, after = three_lists(), three_lists()
    moved = after["cue_lists"]["7"] = after["cue_lists"].pop("2")
    for number in ("1", "2", "3"):
        moved["cues"][number]["fade_in"] = 33
    told = [(Moved, a_list_thing("7"), a_list_thing("2"))]
    told += [(Changed, Thing("cue", number, "7")) for number in ("1", "2", "3")]
    assert kinds(before, after) == told


def test_a_list_copied_and_edited_by_half_is_no_move_of_the_original():
    before = three_lists()
    after = copy.deepcopy(before)
    after["cue_lists"]["7"] = copy.deepcopy(after["cue_lists"]["2"])
    for number in ("1", "2", "3"):
        after["cue_lists"]["7"]["cues"][number]["fade_in"] = 33
    assert [thing for _, thing, *_ in kinds(before, after)] == [a_list_thing("7")]
