"""Laws of comparing: every true edit once, none invented; before + comparison = after.

SHOWVAULT_SESSIONS sets how many sessions are tried, for a long run: 120 unless set.
"""

import os
import random

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from showvault.compare.applying import apply_comparison, invert_comparison
from showvault.compare.changes import (
    Added,
    Change,
    Changed,
    Comparison,
    Copied,
    Moved,
    Removed,
)
from showvault.show.trees import parse_part
from showvault.show.writing import write_show
from tests.builders import Tree
from tests.compare.pairs import comparison_of
from tests.laws.edits import edited
from tests.laws.moves import HARDER, WHOLE
from tests.laws.sessions import Session, a_house, spelled
from tests.strategies import shows

SESSIONS = int(os.environ.get("SHOWVAULT_SESSIONS", "120"))
seeds = st.integers(0, 2**32 - 1)
calm = settings(
    max_examples=SESSIONS, deadline=None, suppress_health_check=list(HealthCheck), database=None
)


def a_session(seed: int) -> Session:
    chance = random.Random(seed)
    return edited(Session(a_house(chance), chance), whole=(*WHOLE, *HARDER))


def signature(change: Change) -> tuple[object, ...]:
    match change:
        case Added(thing):
            return ("added", thing)
        case Removed(thing):
            return ("removed", thing)
        case Copied(thing, from_):
            return ("copied", thing, from_)
        case Moved(thing, from_):
            return ("moved", thing, from_)
        case Changed(thing, path, before, after, along):
            said = ("changed", thing, path, spelled(before), spelled(after))
            return (*said, *(part for one in along for part in signature(one)[2:]))


@calm
@given(seeds)
def test_every_edit_of_a_session_is_reported_once_and_none_is_invented(seed: int):
    session = a_session(seed)
    comparison = comparison_of(session.before, session.show)
    reported = [signature(change) for change in comparison.changes]
    assert len(reported) == len(set(reported))
    assert set(reported) == session.expected()


@calm
@given(seeds)
def test_before_and_the_comparison_give_after_and_the_inverse_goes_back(seed: int):
    session = a_session(seed)
    assert_applies(session.before, session.show)


@calm
@given(shows, shows)
def test_any_show_leads_to_any_other_and_back(before: Tree, after: Tree):
    assert_applies(before, after)


@calm
@given(shows)
def test_a_show_does_not_differ_from_itself(show: Tree):
    assert comparison_of(show, show).changes == ()


def assert_applies(before: Tree, after: Tree) -> None:
    old, new = (parse_part(write_show(show)) for show in (before, after))
    comparison: Comparison = comparison_of(before, after)
    untouched = write_show(old)
    assert write_show(apply_comparison(comparison, old)) == write_show(new)
    assert write_show(old) == untouched
    assert write_show(apply_comparison(invert_comparison(comparison), new)) == write_show(old)
