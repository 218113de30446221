"""One value and one thing, three sides."""

from decimal import Decimal

from msgspec import UNSET

from showvault.compare.shape import shape_of
from showvault.merge.three_way import Clash, merge_tree, merge_value
from showvault.show.addressing import Kind
from tests.builders import Tree, a_cue


def merged(kind: Kind, base: Tree, ours: Tree, theirs: Tree) -> tuple[Tree, list[Tree]]:
    """Merge one thing; ours stands in every clash, which is returned with its path."""
    clashes = []

    def settle(path: tuple[str, ...], clash: Clash[Tree]) -> Tree:
        clashes.append((path, clash.base, clash.ours, clash.theirs))
        return clash.ours

    return merge_tree(shape_of(kind), base, ours, theirs, settle), clashes


def test_two_programmers_who_set_the_same_fade_agree():
    assert merge_value(3, 5, 5) == 5


def test_whoever_changed_nothing_has_no_say():
    assert merge_value(3, 5, 3) == 5
    assert merge_value(3, 3, 5) == 5


def test_two_fades_that_differ_are_a_clash_with_what_was_there():
    assert merge_value(3, 5, 4) == Clash(3, 5, 4)


def test_true_is_not_one():
    assert isinstance(merge_value(0, 1, True), Clash)


def test_levels_of_one_fixture_merge_attribute_by_attribute():
    base = a_cue({"101": {"Dimmer": 50, "Pan": 50}})
    ours = a_cue({"101": {"Dimmer": 65, "Pan": 50}})
    theirs = a_cue({"101": {"Dimmer": 50, "Pan": 20}, "102": {"Dimmer": 10}})
    assert merged("cue", base, ours, theirs) == (
        a_cue({"101": {"Dimmer": 65, "Pan": 20}, "102": {"Dimmer": 10}}),
        [],
    )


def test_a_level_written_with_more_places_is_no_edit():
    base, theirs = a_cue({"101": {"Dimmer": 50}}), a_cue({"101": {"Dimmer": 65}})
    ours = a_cue({"101": {"Dimmer": Decimal("50.0")}})
    assert merged("cue", base, ours, theirs) == (theirs, [])


def test_one_parameter_set_to_two_levels_is_one_clash():
    base, ours = a_cue({"101": {"Dimmer": 50}}), a_cue({"101": {"Dimmer": 65}})
    theirs = a_cue({"101": {"Dimmer": {"level": 50, "fade": 2}}})
    _, clashes = merged("cue", base, ours, theirs)
    assert clashes == [(("levels", "101", "Dimmer"), 50, 65, {"level": 50, "fade": 2})]


def test_a_level_that_one_removed_and_the_other_edited_is_a_clash():
    base, ours = a_cue({"101": {"Dimmer": 50, "Pan": 1}}), a_cue()
    theirs = a_cue({"101": {"Dimmer": 60, "Pan": 1}})
    result, clashes = merged("cue", base, ours, theirs)
    assert clashes == [(("levels", "101", "Dimmer"), 50, UNSET, 60)]
    assert result == a_cue()


def test_a_follow_is_one_value():
    base = a_cue(follow={"from": "go", "seconds": 2})
    ours, theirs = a_cue(follow={"from": "end", "seconds": 2}), a_cue(follow={"from": "go"})
    _, clashes = merged("cue", base, ours, theirs)
    assert [path for path, *_ in clashes] == [("follow",)]


def test_a_part_that_one_removed_and_the_other_left_alone_is_gone():
    base = a_cue(parts={"2": {"fade_in": 12}})
    assert merged("cue", base, a_cue(), {**base, "label": "Cyc"}) == (a_cue(label="Cyc"), [])


def test_a_part_that_one_removed_and_the_other_edited_is_a_clash():
    base = a_cue(parts={"2": {"fade_in": 12}})
    _, clashes = merged("cue", base, a_cue(), a_cue(parts={"2": {"fade_in": 10}}))
    assert clashes == [(("parts", "2"), {"fade_in": 12}, UNSET, {"fade_in": 10})]


def test_an_empty_part_is_there():
    result, clashes = merged("cue", a_cue(), a_cue(parts={"2": {}}), a_cue())
    assert (result, clashes) == (a_cue(parts={"2": {}}), [])


def test_extra_is_gone_into():
    base = {"name": "A", "extra": {"x": 1, "y": {"z": [1]}}}
    ours = {"name": "A", "extra": {"x": 2, "y": {"z": [1]}}}
    theirs = {"name": "A", "extra": {"x": 1, "y": {"z": [2], "new": None}}}
    result, clashes = merged("macro", base, ours, theirs)
    assert (result["extra"], clashes) == ({"x": 2, "y": {"z": [2], "new": None}}, [])


def test_both_sides_may_add_fixtures_to_a_group():
    base = {"fixtures": [1, 2, 3]}
    result, clashes = merged("group", base, {"fixtures": [1, 2, 3, 9]}, {"fixtures": [1, 4, 3]})
    assert (result, clashes) == ({"fixtures": [1, 4, 3, 9]}, [])


def test_steps_of_a_macro_are_one_value():
    base, ours, theirs = {"steps": ["a"]}, {"steps": ["a", "b"]}, {"steps": ["c", "a"]}
    assert merged("macro", base, ours, theirs)[1] == [(("steps",), ["a"], ["a", "b"], ["c", "a"])]


def test_what_theirs_put_in_stands_where_it_stood():
    cue = shape_of("cue")
    base = {"label": "a", "levels": {"1": {"Dimmer": 1}, "3": {"Dimmer": 3}}}
    ours = {**base, "levels": {**base["levels"], "4": {"Dimmer": 4}}}
    theirs = {
        "label": "a",
        "fade_in": 3,
        "levels": {"1": {"Dimmer": 1}, "2": {}, "3": {"Dimmer": 3}},
    }
    theirs["levels"]["2"] = {"Dimmer": 2}
    merged = merge_tree(cue, base, ours, theirs, lambda path, clash: clash.ours)
    assert list(merged) == ["label", "fade_in", "levels"]
    assert list(merged["levels"]) == ["1", "2", "3", "4"]
