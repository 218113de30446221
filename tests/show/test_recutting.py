import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvault.show.cutting import CutShow, cut_into_parts, join_parts
from showvault.show.recutting import TRIES, cut_like
from tests.builders import a_cue, a_full_show, a_show_of_cues, as_bytes
from tests.strategies import shows


def cut(show: Any) -> CutShow:
    found = cut_into_parts(json.dumps(show).encode())
    assert found is not None
    return found


def like(one: CutShow | None, other: CutShow | None) -> bool:
    if one is None or other is None:
        return one is other
    same = one.skeleton == other.skeleton and dict(one.names) == dict(other.names)
    return same and list(one.parts.items()) == list(other.parts.items())


def test_equal_parts_are_those_of_the_last_cut_themselves():
    show = a_full_show()
    last = cut(show)
    show["cue_lists"]["1"]["cues"]["1"]["label"] = "Another"
    again = cut_like(json.dumps(show).encode(), last)
    assert again is not None
    changed = [name for name in again.parts if again.parts[name] is not last.parts[name]]
    assert changed == ["cue_lists/1/0/cue-1"]


@pytest.mark.parametrize("value", ["{}", '{"label": "}, \\"2\\": {"}', "5", "[]", '"x"', "null"])
def test_a_part_that_became_any_value_is_cut_at_its_end(value: str):
    data = json.dumps(a_show_of_cues({"1": a_cue(), "2": a_cue()})).encode()
    last = cut_into_parts(data)
    edited = data.replace(json.dumps(a_cue()).encode(), value.encode(), 1)
    again = cut_like(edited, last)
    assert like(again, cut_into_parts(edited))
    assert again is not None
    assert join_parts(again.skeleton, again.parts) == edited


@given(shows, shows)
def test_cutting_along_another_show_is_cutting(one: Any, other: Any):
    data = as_bytes(other)
    assert like(cut_like(data, cut_into_parts(as_bytes(one))), cut_into_parts(data))


@given(shows, st.data())
def test_cutting_along_an_earlier_state_is_cutting_whatever_was_done_to_the_bytes(
    show: Any, data: st.DataObject
):
    before = as_bytes(show)
    start = data.draw(st.integers(0, len(before)))
    end = data.draw(st.integers(start, min(len(before), start + 40)))
    after = before[:start] + data.draw(st.binary(max_size=20)) + before[end:]
    assert like(cut_like(after, cut_into_parts(before)), cut_into_parts(after))


def test_without_a_last_cut_the_file_is_cut_anew():
    data = json.dumps(a_full_show()).encode()
    assert like(cut_like(data, None), cut_into_parts(data))


@pytest.mark.parametrize("count", [1, TRIES - 1, TRIES, TRIES + 1])
def test_a_part_that_holds_what_follows_it_many_times_is_cut_right(count: int):
    """Beyond so many tries the file is cut anew."""
    data = json.dumps(a_show_of_cues({"1": a_cue(), "2": a_cue()})).encode()
    last = cut_into_parts(data)
    twins = json.dumps({"extra": [{"1": 0, "2": 0}] * count}).encode()
    edited = data.replace(json.dumps(a_cue()).encode(), twins, 1)
    assert edited.count(b', "2": ') > count
    again = cut_like(edited, last)
    assert like(again, cut_into_parts(edited))
    assert again is not None
    assert again.parts["cue_lists/1/0/cue-1"] == twins
