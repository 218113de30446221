"""Who is who: the strictest test first, and no move where number and content say otherwise.

The rules are the project's own (common practice, no source), written down in compare.matching.
"""

import copy

from showvault.compare.changes import Added, Changed, Copied, Moved, Rekeyed, Removed, Stayed
from showvault.show.addressing import Thing
from tests.builders import Tree, a_cue, a_list, a_rig, a_show
from tests.compare.pairs import changes_between, comparison_of


def a_full_cue(n: int, **more: Tree) -> Tree:
    levels = {str(fixture): {"Dimmer": (7 * n + fixture) % 100} for fixture in range(1, 9)}
    return a_cue(levels, label=f"scene {n}", **more)


def a_show_of(cues: Tree, **more: Tree) -> Tree:
    return a_show(cue_lists={"1": a_list(cues), "2": a_list({"1": a_full_cue(99)})}, **more)


def cue(number: str, list: str = "1") -> Thing:
    return Thing("cue", number, list)


def kinds(before: Tree, after: Tree) -> list[tuple[object, ...]]:
    """Return what kind of change became of what."""
    told: list[tuple[object, ...]] = []
    for change in changes_between(before, after):
        origin = getattr(change, "from_", None)
        told.append((type(change), change.thing, *([origin] if origin else [])))
    return told


def test_a_cue_at_another_number_moved():
    before, after = {"5": a_full_cue(5)}, {"55": a_full_cue(5)}
    assert kinds(a_show_of(before), a_show_of(after)) == [(Moved, cue("55"), cue("5"))]


def test_a_cue_that_went_to_another_list_moved():
    before = a_show_of({"5": a_full_cue(5), "6": a_full_cue(6)})
    after = copy.deepcopy(before)
    after["cue_lists"]["2"]["cues"]["7"] = after["cue_lists"]["1"]["cues"].pop("5")
    assert kinds(before, after) == [(Moved, cue("7", "2"), cue("5"))]


def test_an_equal_cue_beside_the_original_is_a_copy():
    before = {"5": a_full_cue(5)}
    after = {"5": a_full_cue(5), "6": a_full_cue(5)}
    assert kinds(a_show_of(before), a_show_of(after)) == [(Copied, cue("6"), cue("5"))]


def test_a_tiny_cue_that_equals_another_by_chance_is_added():
    tiny = {"fade_in": 3, "levels": {}}
    assert kinds(a_show_of({"5": tiny}), a_show_of({"5": tiny, "6": tiny})) == [(Added, cue("6"))]


def test_a_blackout_that_is_deleted_beside_its_twin_is_a_removal():
    twin = a_full_cue(1)
    assert kinds(a_show_of({"5": twin, "6": twin}), a_show_of({"6": twin})) == [(Removed, cue("5"))]


def test_twins_that_were_renumbered_keep_their_order():
    twin = {"label": "Blackout"}
    before = {"1": a_full_cue(1), "2": twin, "3": a_full_cue(3), "4": twin}
    after = {str(int(number) + 100): held for number, held in before.items()}
    moves = [(Moved, cue(str(n + 100)), cue(str(n))) for n in range(1, 5)]
    assert kinds(a_show_of(before), a_show_of(after)) == moves


def test_a_moved_cue_that_changed_a_little_is_a_move_and_the_changes():
    before, after = {"5": a_full_cue(5)}, {"55": {**a_full_cue(5), "label": "other"}}
    assert kinds(a_show_of(before), a_show_of(after)) == [
        (Moved, cue("55"), cue("5")),
        (Changed, cue("55")),
    ]


def test_a_new_cue_that_resembles_a_deleted_one_little_is_no_move():
    before, after = {"5": a_full_cue(5)}, {"55": a_full_cue(8)}
    assert kinds(a_show_of(before), a_show_of(after)) == [
        (Removed, cue("5")),
        (Added, cue("55")),
    ]


def test_a_cue_edited_beyond_recognition_in_its_place_is_changed_not_replaced():
    changes = changes_between(a_show_of({"5": a_full_cue(5)}), a_show_of({"5": a_full_cue(8)}))
    assert {type(change) for change in changes} == {Changed}


def test_a_renumbered_run_shares_one_number_of_a_run():
    before = {str(n): a_full_cue(n) for n in range(10, 22)}
    after = {n if int(n) < 12 else str(int(n) + 100): held for n, held in before.items()}
    changes = changes_between(a_show_of(before), a_show_of(after))
    assert [(change.from_.id, change.thing.id) for change in changes] == [
        (str(n), str(n + 100)) for n in range(12, 22)
    ]
    assert {change.run for change in changes} == {1}


def test_a_run_ends_where_a_cue_in_it_did_not_move():
    before = {str(n): a_full_cue(n) for n in range(1, 7)}
    after = {n if n == "3" else str(int(n) + 100): held for n, held in before.items()}
    runs = [c.run for c in changes_between(a_show_of(before), a_show_of(after))]
    assert runs == [1, 1, 2, 2, 2]


def test_cues_renumbered_over_their_own_numbers_are_moves_and_one_new_cue():
    before = {str(n): a_full_cue(n) for n in range(1, 7)}
    after = {"1": a_full_cue(50), **{str(int(n) + 1): held for n, held in before.items()}}
    assert kinds(a_show_of(before), a_show_of(after)) == [
        (Added, cue("1")),
        *[(Moved, cue(str(n + 1)), cue(str(n))) for n in range(1, 7)],
    ]


def test_two_cues_that_were_exchanged_both_moved():
    before = {"5": a_full_cue(5), "6": a_full_cue(6)}
    after = {"5": a_full_cue(6), "6": a_full_cue(5)}
    assert kinds(a_show_of(before), a_show_of(after)) == [
        (Moved, cue("5"), cue("6")),
        (Moved, cue("6"), cue("5")),
    ]


def test_macros_that_share_most_of_their_steps_and_exchange_numbers_both_moved():
    one, other = ({"name": n, "steps": ["go list 1", f"wait {n}", "clear"]} for n in "ab")
    macros = Thing("macro", "1.1"), Thing("macro", "1.2")
    before = a_show(macros={"1.1": one, "1.2": other})
    assert kinds(before, a_show(macros={"1.1": other, "1.2": one})) == [
        (Moved, macros[0], macros[1]),
        (Moved, macros[1], macros[0]),
    ]


def test_a_group_that_takes_the_number_of_one_that_is_gone_moved():
    groups = {f"1.{n}": {"name": f"group {n}", "fixtures": [1, 2, 3, 4 + n]} for n in (1, 2)}
    after = a_show(groups={"1.1": groups["1.2"]})
    one, other = Thing("group", "1.1"), Thing("group", "1.2")
    assert kinds(a_show(groups=groups), after) == [(Removed, one), (Moved, one, other)]


def test_cues_that_exchange_their_labels_alone_were_edited():
    one, other = a_full_cue(5), {**a_full_cue(5), "label": "another"}
    told = kinds(a_show_of({"5": one, "6": other}), a_show_of({"5": other, "6": one}))
    assert told == [(Changed, cue("5")), (Changed, cue("6"))]


def test_a_run_renumbered_by_uneven_steps_is_one_run():
    before = {str(n): a_full_cue(n) for n in range(5, 10)}
    after = dict(zip(("50", "51", "53", "56.5", "57"), before.values(), strict=True))
    changes = changes_between(a_show_of(before), a_show_of(after))
    assert [(change.from_.id, change.thing.id) for change in changes] == [
        *zip(before, after, strict=True)
    ]
    assert len({change.run for change in changes}) == 1


def test_a_fixture_renumbered_and_readdressed_at_once_is_a_move_and_the_address():
    before, after = a_rig(), a_rig()
    moved = after["patch"]["44"] = after["patch"].pop("4")
    moved["addresses"] = [{"universe": 6, "address": 200}]
    moved["name"] = before["patch"]["4"]["name"] = "Pipe end"
    told = kinds(before, after)
    there = Thing("fixture", "44")
    assert told == [(Moved, there, Thing("fixture", "4")), (Changed, there)]


def test_two_cues_that_differ_in_one_level_and_exchange_it_were_edited():
    levels = {str(n): {"Dimmer": n} for n in range(1, 9)}
    one, other = a_cue({**levels, "9": {"Dimmer": 1}}), a_cue({**levels, "9": {"Dimmer": 2}})
    told = kinds(a_show_of({"5": one, "6": other}), a_show_of({"5": other, "6": one}))
    assert told == [(Changed, cue("5")), (Changed, cue("6"))]


def test_fixtures_that_exchange_addresses_keep_their_numbers():
    before, after = a_rig(), a_rig()
    patch = after["patch"]
    patch["1"]["addresses"], patch["2"]["addresses"] = (
        patch["2"]["addresses"],
        patch["1"]["addresses"],
    )
    changes = changes_between(before, after)
    assert [(type(c), c.thing.id, c.field) for c in changes] == [
        (Changed, "1", "addresses"),
        (Changed, "2", "addresses"),
    ]


def test_dimmers_that_all_go_up_by_one_address_keep_their_numbers():
    before, after = a_rig(), a_rig()
    for number in ("1", "2", "3", "4"):
        after["patch"][number]["addresses"][0]["address"] += 1
    assert {type(change) for change in changes_between(before, after)} == {Changed}


def test_a_fixture_replaced_by_one_of_its_type_elsewhere_is_no_move():
    before, after = a_rig(), a_rig()
    del after["patch"]["4"]
    after["patch"]["44"] = {
        **before["patch"]["4"],
        "addresses": [{"universe": 6, "address": 200}],
    }
    told = kinds(before, after)
    assert told == [(Removed, Thing("fixture", "4")), (Added, Thing("fixture", "44"))]


AMBER = {"name": "Amber", "levels": {"101": {"ColorAdd_R": 100, "ColorAdd_G": 62}}}


def a_show_with_a_preset(place: str, named: str, **more: Tree) -> Tree:
    cues = {
        "1": a_cue({"101": {"ColorAdd_R": {"preset": f"Color {named}"}}}, label="one"),
        "2": a_cue({"102": {"ColorAdd_R": {"preset": f"Color {named}", "fade": 2}}}, label="two"),
    }
    return a_show(presets={"Color": {place: AMBER}}, cue_lists={"1": a_list(cues)}, **more)


def test_references_that_followed_a_preset_are_part_of_its_move():
    (change,) = changes_between(a_show_with_a_preset("1.3", "1.3"), a_show_with_a_preset("2", "2"))
    assert isinstance(change, Moved)
    assert change.stayed == ()
    path = ("levels", "101", "ColorAdd_R")
    assert change.followed[0] == Changed(
        cue("1"), path, {"preset": "Color 1.3"}, {"preset": "Color 2"}
    )
    assert [follower.thing for follower in change.followed] == [cue("1"), cue("2")]


def test_references_that_did_not_follow_a_preset_are_named_in_its_move():
    (change,) = changes_between(
        a_show_with_a_preset("1.3", "1.3"), a_show_with_a_preset("2", "1.3")
    )
    assert isinstance(change, Moved)
    assert not change.followed
    assert change.stayed == (
        Stayed(cue("1"), ("levels", "101", "ColorAdd_R", "preset")),
        Stayed(cue("2"), ("levels", "102", "ColorAdd_R", "preset")),
    )


def test_a_reference_that_followed_and_got_another_time_is_a_change_of_its_own():
    before, after = a_show_with_a_preset("1.3", "1.3"), a_show_with_a_preset("2", "2")
    after["cue_lists"]["1"]["cues"]["2"]["levels"]["102"]["ColorAdd_R"]["fade"] = 5
    moved, changed = changes_between(before, after)
    assert isinstance(moved, Moved)
    assert [follower.thing for follower in moved.followed] == [cue("1")]
    assert isinstance(changed, Changed)
    assert changed.after == {"preset": "Color 2", "fade": 5}


def test_the_same_name_in_extra_is_no_reference_and_its_change_is_told():
    before = a_show_with_a_preset("1.3", "1.3")
    after = a_show_with_a_preset("2", "2")
    for show, name in ((before, "Color 1.3"), (after, "Color 2")):
        show["cue_lists"]["1"]["cues"]["1"]["extra"] = {"preset": name}
    moved, changed = changes_between(before, after)
    assert isinstance(moved, Moved)
    assert len(moved.followed) == 2
    assert changed == Changed(cue("1"), ("extra", "preset"), "Color 1.3", "Color 2")


def test_a_fixture_renumbered_through_the_whole_show_is_one_change():
    def house(number: str) -> Tree:
        rig = a_rig(
            groups={"1": {"name": "Front", "fixtures": [101, int(number)]}},
            presets={"Color": {"1": {"name": "A", "levels": {number: {"ColorAdd_R": 5}}}}},
            cue_lists={
                "1": a_list({"1": a_cue({number: {"Dimmer": 50}, f"{number}.2": {"Dimmer": 9}})})
            },
        )
        rig["patch"][number] = {**rig["patch"]["1"], "name": "Special"}
        return rig

    (change,) = changes_between(house("77"), house("88"))
    assert isinstance(change, Moved)
    assert (change.thing.id, change.from_.id) == ("88", "77")
    assert {(follower.thing.kind, type(follower)) for follower in change.followed} == {
        ("group", Changed),
        ("preset", Rekeyed),
        ("cue", Rekeyed),
    }
    assert Rekeyed(cue("1"), ("levels",), "77.2", "88.2") in change.followed


def test_two_fixtures_that_exchange_numbers_take_their_levels_along():
    before = a_rig(
        cue_lists={"1": a_list({"1": a_cue({"1": {"Dimmer": 10}, "2": {"Dimmer": 20}})})}
    )
    after = a_rig(cue_lists={"1": a_list({"1": a_cue({"2": {"Dimmer": 10}, "1": {"Dimmer": 20}})})})
    for show, names in ((before, ("Left", "Right")), (after, ("Right", "Left"))):
        for number, name in zip(("1", "2"), names, strict=True):
            side = {"name": name, "position": f"{name} boom", "purpose": name, "circuit": name}
            show["patch"][number] |= side
    after["patch"]["1"]["addresses"], after["patch"]["2"]["addresses"] = (
        before["patch"]["2"]["addresses"],
        before["patch"]["1"]["addresses"],
    )
    changes = changes_between(before, after)
    assert [type(change) for change in changes] == [Moved, Moved]
    assert changes[0].followed == (Rekeyed(cue("1"), ("levels",), "2", "1"),)


def test_a_list_that_moved_takes_its_cues_and_the_links_to_them_along():
    cues = {"1": a_full_cue(1), "2": a_full_cue(2)}
    before = a_show_of({"5": a_full_cue(5, link={"list": "7", "cue": "2"})})
    after = a_show_of({"5": a_full_cue(5, link={"list": "8", "cue": "2"})})
    before["cue_lists"]["7"] = a_list(cues, name="Pit")
    after["cue_lists"]["8"] = a_list(cues, name="Pit")
    (change,) = changes_between(before, after)
    assert isinstance(change, Moved)
    assert change.thing == Thing("cue_list", "8")
    assert [follower.thing for follower in change.followed] == [cue("5")]


def test_a_list_that_is_still_there_was_copied():
    pit = a_list({"1": a_full_cue(1), "2": a_full_cue(2)}, name="Pit")
    before, after = a_show_of({}), a_show_of({})
    before["cue_lists"]["7"] = pit
    after["cue_lists"] |= {"7": pit, "8": pit}
    assert kinds(before, after) == [(Copied, Thing("cue_list", "8"), Thing("cue_list", "7"))]


def test_a_list_split_in_two_is_a_new_list_and_the_cues_that_moved_into_it():
    before = a_show_of({str(n): a_full_cue(n) for n in range(1, 7)})
    after = copy.deepcopy(before)
    moved = {n: after["cue_lists"]["1"]["cues"].pop(n) for n in ("5", "6")}
    after["cue_lists"]["9"] = a_list({**moved, "7": a_full_cue(70)}, name="Second half")
    changes = changes_between(before, after)
    assert changes[0] == Added(
        Thing("cue_list", "9"), a_list({"7": a_full_cue(70)}, name="Second half")
    )
    assert [type(change) for change in changes[1:]] == [Moved, Moved]


def test_links_that_followed_a_renumbered_cue_are_part_of_its_move():
    before = a_show_of({"1": a_full_cue(1, link={"cue": "5"}), "5": a_full_cue(5)})
    after = a_show_of({"1": a_full_cue(1, link={"cue": "55"}), "55": a_full_cue(5)})
    (change,) = changes_between(before, after)
    assert isinstance(change, Moved)
    assert change.followed == (Changed(cue("1"), ("link",), {"cue": "5"}, {"cue": "55"}),)


def test_a_link_left_behind_by_a_renumbered_cue_is_named():
    before = a_show_of({"1": a_full_cue(1, link={"cue": "5"}), "5": a_full_cue(5)})
    after = a_show_of({"1": a_full_cue(1, link={"cue": "5"}), "55": a_full_cue(5)})
    (change,) = changes_between(before, after)
    assert isinstance(change, Moved)
    assert change.stayed == (Stayed(cue("1"), ("link",)),)


def test_matching_does_not_depend_on_the_order_of_keys():
    before = {str(n): a_full_cue(n) for n in range(1, 8)}
    after = {str(int(n) + 50): held for n, held in before.items()}
    one = comparison_of(a_show_of(before), a_show_of(after))
    turned = comparison_of(
        a_show_of(dict(reversed(before.items()))), a_show_of(dict(reversed(after.items())))
    )
    assert one == turned
