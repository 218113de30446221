"""Lists of members: additions and removals of both sides in one list."""

from hypothesis import given
from hypothesis import strategies as st

from showvault.merge.member_lists import merge_members

members = st.lists(st.integers(1, 9), max_size=6, unique=True)


def test_what_either_side_took_out_is_out():
    assert merge_members([1, 2, 3, 4], [1, 3, 4], [1, 2, 3]) == [1, 3]


def test_what_is_put_in_stands_behind_the_member_it_stood_behind():
    assert merge_members([1, 2, 3], [1, 8, 2, 3], [1, 2, 9, 3]) == [1, 8, 2, 9, 3]


def test_at_one_place_the_lower_number_is_first_whoever_put_it_in():
    assert merge_members([1], [1, 12], [1, 2]) == [1, 2, 12]
    assert merge_members([1], [1, 2], [1, 12]) == [1, 2, 12]


def test_an_addition_behind_a_member_that_is_out_keeps_its_place():
    assert merge_members([1, 2, 3], [1, 3], [1, 2, 9, 3]) == [1, 9, 3]


def test_one_side_may_turn_the_order_round_while_the_other_adds():
    assert merge_members([1, 2, 3], [3, 2, 1], [1, 2, 3, 4]) == [3, 4, 2, 1]


def test_two_new_orders_are_no_list():
    assert merge_members([1, 2, 3], [3, 2, 1], [2, 1, 3]) is None


def test_a_member_named_twice_makes_the_list_one_value():
    assert merge_members([1, 1], [1], [1, 1, 2]) is None


@given(base=members, mine=members, theirs=members)
def test_every_addition_and_every_removal_is_in_the_list(base, mine, theirs):
    merged = merge_members(base, mine, theirs)
    if merged is None:
        return
    gone = (set(base) - set(mine)) | (set(base) - set(theirs))
    come = (set(mine) | set(theirs)) - set(base)
    assert set(merged) == (set(base) - gone) | come
    assert len(merged) == len(set(merged))


@given(base=members, mine=members, theirs=members)
def test_swapping_the_sides_gives_the_same_list(base, mine, theirs):
    assert merge_members(base, mine, theirs) == merge_members(base, theirs, mine)


@given(base=members, mine=members)
def test_an_untouched_side_never_wins(base, mine):
    assert merge_members(base, mine, base) == mine
