"""What is done with a show once it is read: cut, compared, checked, described; see fuzzing.py."""

from typing import Any

import pytest
from hypothesis import strategies as st

from showvault.check.finder import find_problems
from showvault.compare.applying import apply_comparison, invert_comparison
from showvault.compare.differ import compare_shows
from showvault.errors import ShowvaultError
from showvault.flows.summaries import describe_sides
from showvault.show.cutting import cut_into_parts, join_parts
from showvault.show.parts import parts_of_file
from showvault.show.reading import find_faults, judge_whole, parse_tree
from showvault.show.recutting import cut_like
from showvault.show.referring import References
from showvault.show.writing import write_show
from tests.builders import a_full_show, as_bytes
from tests.fuzz.fuzzing import fuzz, nothing_done_outside
from tests.fuzz.mutating import as_json, changed_fields, damaged
from tests.fuzz.test_readers import SHOWS, sample_of

WHOLE = as_bytes(a_full_show())
WHOLE_CUT = cut_into_parts(WHOLE)
assert WHOLE_CUT is not None
NOTED = References()
NOTED.note(WHOLE_CUT.parts)

damaged_shows = st.one_of(damaged(sample_of("evening.json")), changed_fields(SHOWS).map(as_json))


def cut(data: bytes) -> None:
    with nothing_done_outside():
        judge_whole(data)
        found = cut_into_parts(data)
        recut = cut_like(data, WHOLE_CUT, NOTED)
        assert (None if recut is None else recut.cut) == found
        if found is not None:
            assert join_parts(found.skeleton, found.parts) == data


def test_a_damaged_show_is_cut_and_joined_to_its_very_bytes_or_not_cut() -> None:
    fuzz(damaged_shows, cut, steady=120)


def compare(data: bytes) -> None:
    with nothing_done_outside():
        before, after = parts_of_file(WHOLE), parts_of_file(data)
        there, back = compare_shows(before, after), compare_shows(after, before)
        assert bool(there.changes) == bool(back.changes)
        describe_sides(before, after)
        describe_sides(None, after)


def test_a_damaged_show_is_compared_and_described_or_refused() -> None:
    fuzz(damaged_shows, compare, steady=120)


def apply(tree: Any) -> None:
    data = as_json(tree)
    with nothing_done_outside():
        if find_faults(data):
            return
        comparison = compare_shows(parts_of_file(WHOLE), parts_of_file(data))
        after = apply_comparison(comparison, a_full_show())
        assert write_show(after) == write_show(parse_tree(data))
        assert write_show(apply_comparison(invert_comparison(comparison), after)) == WHOLE


def test_a_comparison_with_a_changed_show_goes_there_and_back() -> None:
    fuzz(changed_fields(SHOWS), apply, steady=60)


def check(data: bytes) -> None:
    with nothing_done_outside():
        try:
            faults = find_faults(data)
        except ShowvaultError:
            return
        found = find_problems(data)
        assert bool(faults) <= bool(found)
        assert all(str(finding.text) for finding in found)


def test_a_damaged_show_is_checked() -> None:
    fuzz(damaged_shows, check, steady=100)


@pytest.mark.parametrize(
    ("place", "found"),
    [
        ("parts", [1]),
        ("also_go", 5),
        ("also_go", {}),
        ("fade_in", []),
        ("levels", []),
        ("follow", {"from": {}}),
    ],
)
def test_what_is_not_understood_may_stand_anywhere(place: str, found: Any) -> None:
    """Found by the tests above, or like it."""
    shows = [a_full_show(), a_full_show()]
    shows[0]["cue_lists"]["1"]["cues"]["2.5"][place] = found
    shows[1]["cue_lists"]["1"]["cues"]["2.5"][place] = []
    before, after = (parts_of_file(as_json(show)) for show in shows)
    for one, other in ((before, after), (after, before), (parts_of_file(WHOLE), before)):
        assert describe_sides(one, other)
