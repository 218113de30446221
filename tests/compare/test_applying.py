"""Applying and inverting: the law itself is in tests/laws; here what each change does."""

import pytest

from showvault.compare.applying import DoesNotApplyError, apply_comparison, invert_comparison
from showvault.compare.changes import Added, Changed, Comparison, Copied, Moved, Removed
from showvault.show.addressing import Thing
from tests.builders import a_cue, a_list, a_show
from tests.compare.pairs import comparison_of


def test_the_show_that_is_given_stays_as_it_is():
    before, after = a_show(title="a"), a_show(title="b")
    assert apply_comparison(comparison_of(before, after), before) == after
    assert before == a_show(title="a")


def test_two_things_that_exchanged_numbers_do_not_meet():
    one, other = Thing("macro", "1"), Thing("macro", "2")
    show = a_show(macros={"1": {"name": "a"}, "2": {"name": "b"}})
    exchanged = Comparison((Moved(one, other), Moved(other, one)))
    assert apply_comparison(exchanged, show)["macros"] == {"1": {"name": "b"}, "2": {"name": "a"}}


def test_a_comparison_of_another_show_is_refused_in_trade_words():
    removal = Comparison((Removed(Thing("cue", "5", "1"), {}),))
    with pytest.raises(DoesNotApplyError, match="the show has no list 1 cue 5") as refused:
        apply_comparison(removal, a_show())
    assert refused.value.hint


def test_the_inverse_of_a_copy_takes_it_away():
    copied = Copied(Thing("cue", "6", "1"), Thing("cue", "5", "1"), a_cue({}))
    assert invert_comparison(Comparison((copied,))).changes == (
        Removed(Thing("cue", "6", "1"), a_cue({})),
    )


def test_the_inverse_of_an_exchanged_type_takes_the_mode_back():
    before, after = (
        a_show(patch={"1": {"type": kind, "mode": mode}})
        for kind, mode in (("wash", "16 bit"), ("spot", "9 bit"))
    )
    comparison = comparison_of(before, after)
    assert apply_comparison(comparison, before) == after
    assert apply_comparison(invert_comparison(comparison), after) == before


def test_the_way_back_clears_the_number_that_another_fixture_took_over():
    """Fixture 5 became 205, and what hangs at 5 since then is stored in the same cue."""
    levels = {"5": {"Dimmer": 50}, "6": {"Dimmer": 60}}
    named = {"type": "wash", "mode": "16 bit", "name": "Wash 5", "unit_number": "5"}
    hazer = {"type": "fog", "mode": "one", "name": "Hazer"}
    before = a_show(patch={"5": named}, cue_lists={"1": a_list({"1": a_cue(levels)})})
    followed = {"5": {"Fog1": 50}, "6": {"Dimmer": 60}, "205": {"Dimmer": 50}}
    after = a_show(
        patch={"5": hazer, "205": named}, cue_lists={"1": a_list({"1": a_cue(followed)})}
    )
    comparison = comparison_of(before, after)
    assert [type(change) for change in comparison.changes] == [Added, Moved, Changed]
    assert apply_comparison(comparison, before) == after
    assert apply_comparison(invert_comparison(comparison), after) == before


def test_a_cue_leaves_a_list_that_is_removed_with_the_rest():
    kept = a_cue({"1": {"Dimmer": 5}, "2": {"Dimmer": 6}}, label="kept")
    before = a_show(cue_lists={"1": a_list({}), "2": a_list({"1": kept, "2": {"label": "gone"}})})
    after = a_show(cue_lists={"1": a_list({"1": kept})})
    comparison = comparison_of(before, after)
    assert [type(change) for change in comparison.changes] == [Removed, Moved]
    assert apply_comparison(comparison, before) == after
