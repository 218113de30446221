"""What the newest version changed, as it is said while somebody waits."""

import pytest

from showvault.flows.summaries import MOST_BYTES, MOST_PARTS, count_things, describe_sides
from showvault.show.parts import ShowParts, parts_of_file
from tests.builders import a_cue, a_show, a_show_of_cues, as_bytes


def a_show_of(count: int, level: int, notes: str = "") -> ShowParts:
    cues = {str(number): a_cue({"1": {"Dimmer": 7}}) for number in range(2, count)}
    first = a_cue({"1": {"Dimmer": level}}, notes=notes)
    return parts_of_file(as_bytes(a_show_of_cues({"1": first, **cues})))


def test_the_first_version_says_what_the_show_holds():
    assert describe_sides(None, a_show_of(5, 50)).startswith("first version: 4 cues, 7 fixtures")
    assert count_things(parts_of_file(as_bytes(a_show()))) == "an empty show"


@pytest.mark.parametrize(("count", "notes"), [(5, ""), (MOST_PARTS + 5, ""), (5, "n" * MOST_BYTES)])
def test_an_edit_is_told_however_large_the_show(count: int, notes: str):
    """A large one is compared alone: what looks different would take too long to find out."""
    said = describe_sides(a_show_of(count, 50, notes), a_show_of(count, 65, notes))
    assert "cue 1" in said
    assert "50" in said and "65" in said


def test_what_is_not_understood_is_compared_all_the_same():
    before, after = (
        parts_of_file(as_bytes(a_show_of_cues({"1": a_cue(fade_inn=seconds), "2": a_cue()})))
        for seconds in (1, 2)
    )
    assert "cue 1" in describe_sides(before, after)
