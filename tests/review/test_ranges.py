"""Numbers drawn together, and never over a number that is not meant."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvault.review.ranges import fold_numbers, say_cues, say_fixtures


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        (["101"], "fixture 101"),
        (["101", "102"], "fixtures 101, 102"),
        (["103", "101", "102", "110"], "fixtures 101–103, 110"),
        (["101.2", "101"], "fixtures 101, 101 cell 2"),
    ],
)
def test_fixtures_that_follow_one_another_are_drawn_together(keys: list[str], said: str):
    assert say_fixtures(keys) == said


def test_point_cues_are_drawn_together_only_where_the_list_is_known():
    assert say_cues(["9", "9.5", "10"]) == "cues 9, 9.5, 10"
    assert say_cues(["9", "9.5", "10"], among=["8", "9", "9.5", "10", "11"]) == "cues 9–10"


def test_a_range_is_broken_where_the_list_has_a_cue_that_is_not_meant():
    assert say_cues(["8", "9", "10"], among=["8", "9", "9.5", "10"]) == "cues 8, 9, 10"


@given(st.sets(st.integers(1, 60), min_size=1))
def test_a_range_covers_exactly_the_numbers_that_were_given(numbers: set[int]):
    covered: list[int] = []
    for piece in fold_numbers([str(number) for number in sorted(numbers)]):
        first, _, last = piece.partition("–")
        covered += range(int(first), int(last or first) + 1)
    assert covered == sorted(numbers)
