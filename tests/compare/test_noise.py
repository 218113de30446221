"""What a vault leaves out of its comparisons, and says so."""

from showvault.compare.noise import leave_out
from tests.builders import a_cue, a_list, a_show
from tests.compare.pairs import comparison_of

COMPARISON = comparison_of(
    a_show(title="a", extra={"saved_at": 1, "who": "x"}),
    a_show(title="b", extra={"saved_at": 2, "who": "y"}),
)


def test_a_path_is_left_out_and_named():
    left = leave_out(COMPARISON, ["extra.saved_at"])
    assert [change.field for change in left.changes] == ["title", "extra.who"]
    assert left.left_out == ("extra.saved_at",)


def test_a_path_in_which_nothing_differs_is_not_named():
    assert leave_out(COMPARISON, ["extra.counter"]).left_out == ()


def test_everything_under_a_path_is_left_out():
    assert [change.field for change in leave_out(COMPARISON, ["extra"]).changes] == ["title"]


def test_a_star_stands_for_any_step():
    before, after = (
        a_show(cue_lists={"1": a_list({"1": a_cue({"1": {"Pan": pan, "Dimmer": pan}})})})
        for pan in (1, 2)
    )
    left = leave_out(comparison_of(before, after), ["levels.*.Pan"])
    assert [change.level for change in left.changes] == [("1", "Dimmer")]


def test_a_field_that_changed_along_with_another_is_left_out_by_itself():
    exchanged = comparison_of(
        a_show(patch={"1": {"type": "wash", "mode": "16 bit"}}),
        a_show(patch={"1": {"type": "spot", "mode": "9 bit"}}),
    )
    without_mode, without_type = (leave_out(exchanged, [path]) for path in ("mode", "type"))
    assert [(change.field, change.along) for change in without_mode.changes] == [("type", ())]
    assert [(change.field, change.along) for change in without_type.changes] == [("mode", ())]
    assert (without_mode.left_out, without_type.left_out) == (("mode",), ("type",))


def test_a_path_is_not_the_beginning_of_a_longer_word():
    assert leave_out(COMPARISON, ["extra.w", "tit"]).changes == COMPARISON.changes
