"""Cues that follow each other leave time to finish, and do not flash too fast."""

import pytest

from showvault.check.chains import find_cues_that_never_finish, find_flashing_chains
from tests.builders import Tree, a_cue, a_list, a_show_of_cues
from tests.check.rules import found, sentences


def go(seconds: float) -> Tree:
    return {"from": "go", "seconds": seconds}


def end(seconds: float) -> Tree:
    return {"from": "end", "seconds": seconds}


def two_cues(first: Tree, second: Tree) -> Tree:
    return a_show_of_cues({"1": first, "2": second})


LEVEL = {"1": {"Dimmer": 50}}


@pytest.mark.parametrize(
    ("first", "second", "finishes"),
    [
        # The first cue takes 3 seconds.
        (a_cue(LEVEL, follow=go(3)), a_cue(LEVEL), True),
        (a_cue(LEVEL, follow=go(2.999)), a_cue(LEVEL), False),
        (a_cue(LEVEL, follow=end(0)), a_cue(LEVEL), True),
        (a_cue(LEVEL), a_cue(LEVEL), True),
        (a_cue(LEVEL, follow=go(1)), a_cue({"2": {"Dimmer": 50}}), True),
        (a_cue(LEVEL, follow=go(1)), a_cue(LEVEL, delay_in=2), True),
        (a_cue(LEVEL, follow=go(1)), a_cue(LEVEL, delay_in=1.5), False),
        (a_cue({"1": {"Dimmer": {"level": 5, "fade": 1}}}, follow=go(1)), a_cue(LEVEL), True),
        (a_cue(LEVEL, fade_out=0.5, follow=go(1)), a_cue(LEVEL), True),
    ],
)
def test_a_cue_never_finishes_where_a_follower_takes_over_before(
    first: Tree, second: Tree, finishes: bool
) -> None:
    """Judged for the shorter of fade in and out: only what is sure is told."""
    expected = [("note", "never-finishes", "/cue_lists/1/cues/1")]
    assert found(find_cues_that_never_finish, two_cues(first, second)) == (
        [] if finishes else expected
    )


def test_a_later_cue_of_the_chain_may_take_over_too() -> None:
    show = a_show_of_cues(
        {
            "1": a_cue(LEVEL, fade_in=10, follow=go(1)),
            "2": a_cue({"2": {"Dimmer": 5}}, fade_in=0, follow=go(1)),
            "3": a_cue(LEVEL),
        }
    )
    assert sentences(find_cues_that_never_finish, show) == [
        "list 1 cue 1: fixture 1 never arrives: a cue that follows takes over before"
    ]


def a_loop(seconds: float, low: float = 0) -> Tree:
    """Two cues in a list of their own that switch fixture 1 and follow each other for ever."""
    show = a_show_of_cues({"1": a_cue()})
    show["cue_lists"]["2"] = a_list(
        {
            "1": {"levels": {"1": {"Dimmer": 100}}, "follow": go(seconds)},
            "2": {
                "levels": {"1": {"Dimmer": low}},
                "follow": go(seconds),
                "link": {"cue": "1"},
            },
        }
    )
    return show


@pytest.mark.parametrize(
    ("seconds", "low", "flashes"),
    [
        (0, 0, True),
        (0.1, 0, True),
        (0.125, 0, True),
        (0.25, 0, False),
        (1, 0, False),
        (0.1, 95, False),
    ],
)
def test_a_loop_that_flashes_more_than_three_times_a_second_is_a_warning(
    seconds: float, low: float, flashes: bool
) -> None:
    """WCAG 2.3.1: a flash is a pair of opposing changes of a tenth or more; three a second."""
    expected = [("warning", "chain-flashes", "/cue_lists/2/cues/1")]
    assert found(find_flashing_chains, a_loop(seconds, low)) == (expected if flashes else [])


def test_a_chain_without_a_loop_flashes_as_well() -> None:
    cues = {
        str(n): {"levels": {"1": {"Dimmer": 100 * (n % 2)}}, "follow": go(0.1)}
        for n in range(1, 12)
    }
    (sentence,) = sentences(find_flashing_chains, a_show_of_cues(cues))
    assert sentence.startswith("list 1 cue 1: the follows from here flash fixture 1 up to")
