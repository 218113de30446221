"""Older versions of the format are lifted on reading, step by step."""

from showvault.show.formats import lift_to_this_version
from tests.builders import a_full_show

LIFTS = {
    1: lambda show: {**show, "venue": "a"},
    2: lambda show: {**show, "venue": show["venue"] + "b"},
}


def test_an_older_show_takes_each_step_to_the_newest() -> None:
    show = {"format_version": 1}
    lifted = lift_to_this_version(show, LIFTS, newest=3)
    assert lifted == {"format_version": 3, "venue": "ab"}
    assert show == {"format_version": 1}


def test_a_show_of_the_newest_version_comes_back_as_it_is() -> None:
    assert lift_to_this_version(a_full_show()) == a_full_show()
    assert lift_to_this_version({"format_version": 3}, LIFTS, newest=3) == {"format_version": 3}


def test_what_has_no_step_comes_back_as_it_is() -> None:
    for tree in ({"format_version": 0}, {"format_version": "1"}, {}, [], None, "text"):
        assert lift_to_this_version(tree, LIFTS, newest=3) == tree
