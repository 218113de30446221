import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvault.show.cutting import CutShow, cut_into_parts, join_parts
from showvault.show.recutting import TRIES
from showvault.show.recutting import cut_like as recut_like
from tests.builders import a_cue, a_full_show, a_show_of_cues, as_bytes
from tests.strategies import shows


def cut(show: Any) -> CutShow:
    found = cut_into_parts(json.dumps(show).encode())
    assert found is not None
    return found


def cut_like(data: bytes, last: CutShow | None) -> CutShow | None:
    recut = recut_like(data, last)
    return None if recut is None else recut.cut


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


def cues(*numbers: int, names: str = "Color 1.1") -> dict[str, Any]:
    levels = {"101": {"Dimmer": 50, "Red": {"preset": names}}}
    return {str(number): {"label": f"Cue {number}", "levels": levels} for number in numbers}


def a_big_show(cues: dict[str, Any], *places: str) -> dict[str, Any]:
    show = a_show_of_cues(cues)
    show["presets"] = {"Color": {place: {"name": f"Colour {place}"} for place in places}}
    return show


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ((cues(*range(1, 9)), "1.1"), (cues(1, 2, 3, 20, *range(4, 9)), "1.1")),  # one came
        ((cues(*range(1, 9)), "1.1"), (cues(1, 2, 4, 5, 6, 7, 8), "1.1")),  # one is gone
        ((cues(*range(1, 9)), "1.1"), (cues(*range(1, 9), 20), "1.1")),  # one came at the end
        ((cues(*range(1, 9)), "1.1"), (cues(*range(1, 8)), "1.1")),  # the last one is gone
        ((cues(*range(1, 9)), "1.1"), (cues(1, 2, 3, 6, 7, 4, 5, 8), "1.1")),  # in another order
        ((cues(*range(1, 9)), "1.1"), (cues(*range(1, 9)), "1.1", "1.2")),
        ((cues(*range(1, 9)), "1.1", "1.2"), (cues(*range(1, 9)), "1.2")),
    ],
)
def test_behind_what_came_or_is_gone_equal_parts_are_known_again(
    before: tuple[Any, ...], after: tuple[Any, ...]
):
    last, data = cut(a_big_show(*before)), json.dumps(a_big_show(*after)).encode()
    again = cut_like(data, last)
    assert like(again, cut_into_parts(data))
    assert again is not None
    known = [name for name in again.parts if again.parts[name] is last.parts.get(name)]
    assert len(known) >= len(again.parts) - 3


def test_parts_in_which_a_moved_preset_is_named_are_told_with_what_is_new_in_them():
    last = cut(a_big_show(cues(1, 2, 3), "1.1", "1.2"))
    data = json.dumps(a_big_show(cues(1, 2, 3, names="Color 9.9"), "1.2", "9.9")).encode()
    again = recut_like(data, last)
    assert again is not None
    assert like(again.cut, cut_into_parts(data))
    assert again.last is last
    reference = (b'"preset": "Color 1.1"', b'"preset": "Color 9.9"')
    assert again.renamed == {f"cue_lists/1/0/cue-{n}": frozenset({reference}) for n in (1, 2, 3)}


@pytest.mark.parametrize("label", ["put aside 0", "put aside 1", "put aside 99"])
def test_a_file_that_speaks_as_the_cutting_does_is_cut_right(label: str):
    last = cut(a_big_show(cues(*range(1, 9)), "1.1"))
    show = a_big_show(cues(1, 2, 3, 20, *range(4, 9)), "1.1")
    show["cue_lists"]["1"]["cues"]["20"] = label
    data = json.dumps(show).encode()
    assert like(cut_like(data, last), cut_into_parts(data))


def test_where_the_files_are_alike_again_at_another_depth_the_file_is_cut_anew():
    before = a_big_show(cues(*range(1, 9)), "1.1")
    last = cut(before)
    text = json.dumps(before).encode()
    inner = text.index(b'"cue_lists"')
    nested = text[:inner] + b'"extra": {' + text[inner:] + b"}"
    assert like(cut_like(nested, last), cut_into_parts(nested))
    twice = text[:-1] + b', "cue_lists": {"1": {"cues": {}}}}'
    assert like(cut_like(twice, last), cut_into_parts(twice))
