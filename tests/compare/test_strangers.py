"""Things that moved and were edited at once, known by their names.

The rules are the project's own (common practice, no source), written down in compare.strangers.
"""

import copy

from showvault.compare.changes import Moved
from showvault.show.addressing import Thing
from tests.builders import Tree, a_cue, a_fixture, a_list, a_rig, a_show
from tests.compare.pairs import changes_between


def a_named_cue(n: int, **levels: int) -> Tree:
    stored = {str(fixture): {"Dimmer": (7 * n + fixture) % 100} for fixture in range(1, 9)}
    return a_cue({**stored, **{k: {"Dimmer": v} for k, v in levels.items()}}, label=f"scene {n}")


def moves(before: Tree, after: Tree) -> set[tuple[str, str]]:
    return {
        (change.from_.id, change.thing.id)
        for change in changes_between(before, after)
        if isinstance(change, Moved)
    }


def a_run(first: int = 1) -> Tree:
    return {str(n + first): a_named_cue(n) for n in range(6)}


def test_cues_that_moved_up_by_one_and_were_edited_are_known_by_their_labels():
    before = a_show(cue_lists={"1": a_list(a_run())})
    after = a_show(cue_lists={"1": a_list({"1": a_named_cue(77), **a_run(2)})})
    cues = after["cue_lists"]["1"]["cues"]
    for number in ("4", "5"):
        cues[number]["levels"]["1"]["Dimmer"] = 99
    assert moves(before, after) == {(str(n), str(n + 1)) for n in range(1, 7)}


def test_cues_whose_labels_were_exchanged_stay():
    before = a_show(cue_lists={"1": a_list(a_run())})
    after = copy.deepcopy(before)
    cues = after["cue_lists"]["1"]["cues"]
    cues["2"]["label"], cues["3"]["label"] = cues["3"]["label"], cues["2"]["label"]
    assert moves(before, after) == set()


def test_a_fixture_of_a_name_of_its_own_is_known_under_another_number_type_and_address():
    before = a_rig()
    before["patch"]["101"] |= {"name": "Boom left", "position": "boom", "unit_number": "7"}
    after = copy.deepcopy(before)
    old = after["patch"].pop("101")
    exchanged = a_fixture("dimmer", "8 bit", universe=7, address=9, position="floor")
    after["patch"]["401"] = {**old, **exchanged, "unit_number": "8"}
    assert moves(before, after) == {("101", "401")}


def test_a_fixture_whose_name_two_others_have_too_is_not_known_by_it():
    before = a_rig()
    for number in ("101", "102"):
        before["patch"][number] |= {"name": "Boom", "position": "boom"}
    after = copy.deepcopy(before)
    for number in ("101", "102"):
        old = after["patch"].pop(number)
        moved = a_fixture("dimmer", "8 bit", universe=7, address=int(number))
        after["patch"][f"4{number}"] = {**old, **moved}
    assert Thing("fixture", "101").id not in {source for source, _ in moves(before, after)}
