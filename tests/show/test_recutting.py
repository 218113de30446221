import json
import random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showvault.show.cutting import CutShow, cut_into_parts, join_parts
from showvault.show.outlines import find_spans
from showvault.show.recutting import RESUMED, TRIES
from showvault.show.recutting import cut_like as recut_like
from showvault.show.referring import References
from tests.builders import a_cue, a_full_show, a_show_of_cues, as_bytes
from tests.strategies import shows


def cut(show: Any) -> CutShow:
    found = cut_into_parts(json.dumps(show).encode())
    assert found is not None
    return found


def cut_like(data: bytes, last: CutShow | None) -> CutShow | None:
    recut = recut_like(data, last)
    if last is not None:  # with what is noted of it, nothing comes out differently
        references = References()
        references.note(last.parts)
        assert recut_like(data, last, references) == recut
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


def test_where_the_files_part_very_often_what_is_left_is_cut_anew():
    last = cut(a_big_show(cues(*range(1, 4 * RESUMED)), "1.1"))
    data = json.dumps(a_big_show(cues(*range(1, 4 * RESUMED, 2)), "1.1")).encode()
    assert like(cut_like(data, last), cut_into_parts(data))


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


def moved_about(data: bytes, chance: random.Random) -> bytes:
    """One thing exchanged with another, taken out, copied, or a preset named instead of another."""
    spans = find_spans(data) or []
    match chance.choice(["exchange", "take out", "copy", "rename", "smuggle"]):
        case "exchange" if len(spans) > 1:
            one, other = sorted(chance.sample(spans, 2))
            between = data[one.end : other.start]
            first, last = data[one.start : one.end], data[other.start : other.end]
            return data[: one.start] + last + between + first + data[other.end :]
        case "take out" | "copy" as what if spans:
            one = chance.choice(spans)
            comma = data.rfind(b",", 0, one.start)
            if what == "take out":
                return data[:comma] + data[one.end :] if comma >= 0 else data
            to = chance.choice(spans).end
            return data[:to] + data[max(comma, 0) : one.end] + data[to:]
        case "rename":
            old, new = (f'"Color 1.{chance.randint(1, 4)}"'.encode() for _ in range(2))
            return data.replace(old, new)
        case _:
            at = chance.randrange(len(data))
            return data[:at] + chance.choice([b'"put aside 1"', b"{}", b'"', b"\0"]) + data[at:]


def a_show_to_move_about(chance: random.Random) -> bytes:
    cues_of = {
        str(number): cues(*range(1, chance.randint(2, 12)), names=f"Color 1.{number}")
        for number in range(1, chance.randint(2, 4))
    }
    show = a_big_show({}, *(f"1.{place}" for place in range(1, chance.randint(2, 6))))
    show["cue_lists"] = {number: {"cues": held} for number, held in cues_of.items()}
    show["macros"] = {"1": chance.choice([{}, 5, "a", [1], {"name": "put aside 0"}])}
    keys = chance.sample([*show], len(show))
    return json.dumps({key: show[key] for key in keys}).encode()


@settings(max_examples=200)
@given(st.integers(0, 2**32 - 1))
def test_cutting_along_is_cutting_whatever_was_moved_about(seed: int):
    chance = random.Random(seed)
    before = after = a_show_to_move_about(chance)
    for _ in range(chance.randint(1, 4)):
        after = moved_about(after, chance)
    last = cut_into_parts(before)
    again = recut_like(after, last)
    assert like(None if again is None else again.cut, cut_into_parts(after))
    for name, texts in {} if again is None else again.renamed.items():
        assert last is not None and again is not None
        was = last.parts[name]
        assert was != again.cut.parts[name]
        assert not again.cut.parts[name].count(b"Color") - was.count(b"Color")
        assert all(old in was for old, _ in texts) or len(texts) > 1


@pytest.mark.parametrize("number", ["1", "3", "8"])
@pytest.mark.parametrize("place", ["before", "behind"])
def test_a_cue_that_comes_under_a_number_that_is_taken_is_cut_as_any_reader_takes_it(
    number: str, place: str
):
    """The later one stands; the cues that are found again are looked at as one run."""
    before = json.dumps(a_big_show(cues(*range(1, 9)), "1.1", "1.2")).encode()
    begin, end = before.index(b'"1": {"', before.index(b'"cues"')), before.index(b"}}}}}") + 3
    twice = b'"%b": {"label": "again"}' % number.encode()
    if place == "before":
        after = before[:begin] + twice + b", " + before[begin:]
    else:
        after = before[:end] + b", " + twice + before[end:]
    assert cut_into_parts(after) is not None
    assert like(cut_like(after, cut_into_parts(before)), cut_into_parts(after))


def test_a_run_of_cues_that_moves_to_another_list_is_cut_where_it_is_now():
    show = a_big_show(cues(*range(1, 20)), "1.1")
    show["cue_lists"]["2"] = {"name": "House", "cues": cues(40)}
    before = json.dumps(show).encode()
    held = show["cue_lists"]["1"]["cues"]
    show["cue_lists"]["2"]["cues"] |= {
        number: held.pop(number) for number in map(str, range(5, 15))
    }
    after = json.dumps(show).encode()
    assert like(cut_like(after, cut_into_parts(before)), cut_into_parts(after))


def test_a_part_that_is_as_it_was_is_not_one_in_which_presets_are_named_anew():
    """Though the references learned before it lead back to where they began."""
    numbers = ("Color 1.1", "Color 1.2", "Color 1.1")
    exchanged = ("Color 1.2", "Color 1.1", "Color 1.1")
    before, after = (
        a_show_of_cues({str(n): cues(n, names=one)[str(n)] for n, one in enumerate(names, 1)})
        for names in (numbers, exchanged)
    )
    after["cue_lists"]["1"]["cues"] |= cues(4)
    again = recut_like(json.dumps(after).encode(), cut(before))
    assert again is not None
    assert again.renamed.keys() == {"cue_lists/1/0/cue-1", "cue_lists/1/0/cue-2"}
