"""Two shows made from one, put together."""

import json

from msgspec import UNSET

from showvault.merge.conflicts import always
from tests.builders import (
    a_cue,
    a_fixture,
    a_full_show,
    a_list,
    a_rig,
    as_bytes,
)
from tests.merge.three_sides import (
    cues,
    edited,
    four_cues,
    merge_bytes,
    merge_edits,
    merge_trees,
    renumber,
)


def test_edits_of_different_cues_are_both_in_the_show():
    def mine(show):
        cues(show)["1"]["fade_in"] = 9

    def theirs(show):
        cues(show)["2"]["levels"]["2"]["Dimmer"] = 61

    result = merge_edits(four_cues(), mine, theirs)
    assert result.conflicts == ()
    assert result.show == edited(four_cues(), mine, theirs)


def test_what_nobody_changed_in_mine_keeps_its_bytes():
    base = four_cues()
    spaced = json.dumps(base, indent=7).encode()
    theirs = edited(base, lambda show: cues(show)["2"].update(label="Thunder"))
    result = merge_bytes(as_bytes(base), spaced, as_bytes(theirs))
    assert result.data == spaced.replace(b"Storm breaks", b"Thunder")


def test_an_untouched_side_gives_the_other_side_as_it_is():
    base, changed = four_cues(), a_full_show()
    assert merge_trees(base, base, changed).show == changed
    assert merge_bytes(as_bytes(base), as_bytes(changed), as_bytes(base)).data == as_bytes(changed)


def test_one_may_renumber_all_cues_while_the_other_edits_them():
    def theirs(show):
        cues(show)["2"]["levels"]["101"]["Dimmer"] = 35
        cues(show)["3"]["label"] = "Lull"

    result = merge_edits(four_cues(), lambda show: renumber(show, 10), theirs)
    assert result.conflicts == ()
    assert list(cues(result.show)) == ["11", "12", "13", "14"]
    assert cues(result.show)["12"]["levels"]["101"]["Dimmer"] == 35
    assert cues(result.show)["13"] == a_cue({"3": {"Dimmer": 70}}, label="Lull", link={"cue": "11"})


def test_a_new_cue_stays_among_its_neighbours_that_the_other_renumbered():
    def theirs(show):
        cues(show)["2.5"] = a_cue({"1": {"Dimmer": 1}}, label="Flash", link={"cue": "4"})

    for first, second in (
        (lambda show: renumber(show, 10), theirs),
        (theirs, lambda show: renumber(show, 10)),
    ):
        result = merge_edits(four_cues(), first, second)
        assert result.conflicts == ()
        assert list(cues(result.show)) == ["11", "12", "12.5", "13", "14"]
        assert cues(result.show)["12.5"]["link"] == {"cue": "14"}


def test_a_level_that_both_set_differently_is_a_conflict_in_trade_words():
    result = merge_edits(
        four_cues(),
        lambda show: cues(show)["2"]["levels"]["101"].update(Dimmer=65),
        lambda show: cues(show)["2"]["levels"]["101"].update(Dimmer=70),
    )
    (conflict,) = result.conflicts
    assert conflict.place == "list 1 cue 2, fixture 101 intensity"
    assert conflict.pointer == "/cue_lists/1/cues/2/levels/101/Dimmer"
    assert (conflict.base, conflict.mine, conflict.theirs) == (30, 65, 70)
    assert conflict.text == (
        "list 1 cue 2: mine: fixture 101 intensity 30 → 65 %; "
        "theirs: fixture 101 intensity 30 → 70 %"
    )
    assert cues(result.show)["2"]["levels"]["101"]["Dimmer"] == 65


def test_a_policy_decides_every_conflict():
    sides = (
        lambda show: cues(show)["2"].update(label="A"),
        lambda show: cues(show)["2"].update(label="B"),
    )
    for choice, label in (("mine", "A"), ("theirs", "B"), ("base", "Storm breaks")):
        result = merge_edits(four_cues(), *sides, always(choice))
        assert (cues(result.show)["2"]["label"], result.conflicts) == (label, ())


def test_a_cue_that_one_removed_and_the_other_edited_is_a_conflict():
    def theirs(show):
        cues(show)["2"]["fade_in"] = 7

    def mine(show):
        del cues(show)["2"]

    result = merge_edits(four_cues(), mine, theirs)
    (conflict,) = result.conflicts
    assert conflict.text == "list 1 cue 2: mine removed it, theirs changed 1 field of it"
    assert (conflict.mine, conflict.theirs["fade_in"]) == (UNSET, 7)
    assert "2" not in cues(result.show)
    kept = merge_edits(four_cues(), mine, theirs, always("theirs"))
    assert cues(kept.show)["2"]["fade_in"] == 7


def test_a_cue_that_one_removed_and_the_other_only_renumbered_is_gone():
    result = merge_edits(
        four_cues(), lambda show: cues(show).pop("3"), lambda show: renumber(show, 10)
    )
    assert result.conflicts == ()
    assert list(cues(result.show)) == ["11", "12", "14"]


def test_one_number_for_two_new_cues_is_a_conflict():
    def mine(show):
        cues(show)["5"] = a_cue({"1": {"Dimmer": 1}}, label="Curtain")

    def theirs(show):
        cues(show)["5"] = a_cue({"2": {"Dimmer": 2}}, label="Bows")

    result = merge_edits(four_cues(), mine, theirs)
    (conflict,) = result.conflicts
    assert conflict.place == "list 1 cue 5"
    assert "“Curtain”" in conflict.text
    assert "“Bows”" in conflict.text
    taken = merge_edits(four_cues(), mine, theirs, always("theirs"))
    assert cues(taken.show)["5"]["label"] == "Bows"


def test_the_same_new_cue_on_both_sides_is_one_cue():
    def both(show):
        cues(show)["5"] = a_cue({"1": {"Dimmer": 1}}, label="Curtain")

    result = merge_edits(four_cues(), both, both)
    assert (result.conflicts, result.show) == ((), edited(four_cues(), both))


def test_two_new_numbers_for_one_cue_are_a_conflict():
    def to(number):
        return lambda show: cues(show).update({number: cues(show).pop("4")})

    result = merge_edits(four_cues(), to("40"), to("44"))
    (conflict,) = result.conflicts
    assert conflict.text == (
        "list 1 cue 4 got two new numbers: mine: list 1 cue 40; theirs: list 1 cue 44"
    )
    assert list(cues(result.show)) == ["1", "2", "3", "40"]


def test_two_fixtures_patched_to_overlapping_addresses_are_a_conflict():
    base = a_rig()

    def mine(show):
        show["patch"]["5"] = a_fixture("wash", "16 bit", universe=3, address=10)

    def theirs(show):
        show["patch"]["1"]["addresses"] = [{"universe": 3, "address": 18}]

    result = merge_edits(base, mine, theirs)
    (conflict,) = result.conflicts
    assert conflict.place == "universe 3 address 18"
    assert conflict.text == (
        "universe 3 address 18 taken by two fixtures: mine: fixture 5 at universe 3 address 10; "
        "theirs: fixture 1 at universe 3 address 18"
    )
    assert result.show["patch"]["1"]["addresses"] == [{"universe": 1, "address": 1}]
    theirs_stand = merge_edits(base, mine, theirs, always("theirs"))
    assert "addresses" not in theirs_stand.show["patch"]["5"]


def test_an_overlap_is_asked_once_it_is_decided_where_the_fixture_goes():
    def mine(show):
        show["patch"]["1"]["addresses"] = [{"universe": 3, "address": 18}]

    def theirs(show):
        show["patch"]["1"]["addresses"] = [{"universe": 4, "address": 1}]
        show["patch"]["2"]["addresses"] = [{"universe": 3, "address": 18}]

    for one, other in ((mine, theirs), (theirs, mine)):
        (conflict,) = merge_edits(a_rig(), one, other).conflicts
        assert conflict.pointer == "/patch/1/addresses"
    asked = []

    def decide(conflict):
        asked.append(conflict.place)
        return "mine" if conflict.place.startswith("fixture 1,") else None

    (conflict,) = merge_edits(a_rig(), mine, theirs, decide).conflicts
    assert conflict.place == "universe 3 address 18"
    assert asked == ["fixture 1, addresses", "universe 3 address 18"]


def test_addresses_side_by_side_are_none():
    def mine(show):
        show["patch"]["5"] = a_fixture("wash", "16 bit", universe=3, address=10)

    def theirs(show):
        show["patch"]["1"]["addresses"] = [{"universe": 3, "address": 19}]

    assert merge_edits(a_rig(), mine, theirs).conflicts == ()


def test_one_parameter_stored_in_two_parts_of_a_cue_is_a_conflict():
    def mine(show):
        cues(show)["1"]["levels"]["3"] = {"Dimmer": 10}

    def theirs(show):
        cues(show)["1"]["parts"] = {"2": {"levels": {"3": {"Dimmer": 20}}}}

    (conflict,) = merge_edits(four_cues(), mine, theirs).conflicts
    assert conflict.text == (
        "list 1 cue 1: fixture 3 intensity: mine: 10 % in part 1; theirs: 20 % in part 2"
    )
    for choice in ("mine", "theirs"):
        cue = cues(merge_edits(four_cues(), mine, theirs, always(choice)).show)["1"]
        in_parts = ["3" in cue["levels"], "3" in cue["parts"]["2"].get("levels", {})]
        assert in_parts == [choice == "mine", choice == "theirs"]


def test_a_cue_put_into_a_list_that_the_other_removed_is_a_conflict():
    base = a_rig(cue_lists={"1": a_list({}), "2": a_list({"1": a_cue({"1": {"Dimmer": 1}})})})

    def mine(show):
        del show["cue_lists"]["2"]

    def theirs(show):
        cues(show, "2")["2"] = a_cue({"2": {"Dimmer": 2}})

    (conflict,) = merge_edits(base, mine, theirs).conflicts
    assert conflict.text == "list 2: mine removed it, theirs put 1 cue into it"
    assert "2" not in merge_edits(base, mine, theirs).show["cue_lists"]
    kept = merge_edits(base, mine, theirs, always("theirs"))
    assert list(cues(kept.show, "2")) == ["2"]
    assert kept.show["cue_lists"]["2"]["name"] == "Main"


def test_cues_that_the_other_put_into_a_renumbered_list_go_along():
    base = a_rig(
        cue_lists={"1": a_list({str(n): a_cue({str(n): {"Dimmer": n}}) for n in (1, 2, 3)})}
    )

    def mine(show):
        show["cue_lists"]["7"] = show["cue_lists"].pop("1")

    def theirs(show):
        cues(show)["4"] = a_cue({"4": {"Dimmer": 4}})

    result = merge_edits(base, mine, theirs)
    assert result.conflicts == ()
    assert list(result.show["cue_lists"]) == ["7"]
    assert list(cues(result.show, "7")) == ["1", "2", "3", "4"]


def test_the_shows_own_fields_are_merged():
    result = merge_edits(
        four_cues(),
        lambda show: show.update(title="The Long Night", extra={"a": 1}),
        lambda show: show.update(venue="the studio", extra={"b": [2]}),
    )
    assert result.conflicts == ()
    assert (result.show["title"], result.show["venue"]) == ("The Long Night", "the studio")
    assert result.show["extra"] == {"a": 1, "b": [2]}
