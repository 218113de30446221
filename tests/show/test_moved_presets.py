"""Presets that moved, and what differs in nothing but their names."""

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvault.show.addressing import Thing
from showvault.show.cutting import CutShow, cut_into_parts
from showvault.show.moved_presets import PresetMoves, find_moved_presets
from tests.builders import Tree, a_show, as_bytes


def preset(place: str) -> Thing:
    return Thing("preset", place)


RED, BLUE = preset("Color 1.1"), preset("Color 1.2")
FAR, FURTHER = preset("Color 9.1"), preset("Color 9.2")
MOVES = {RED: FAR, BLUE: FURTHER}
CUE = Thing("cue", "1", "1")


def a_cut(**presets: Tree) -> CutShow:
    colours = {place.replace("_", "."): held for place, held in presets.items()}
    found = cut_into_parts(as_bytes(a_show(presets={"Color": colours})))
    assert found is not None
    return found


def holding(name: str) -> Tree:
    return {"name": name, "levels": {}}


def test_a_preset_under_another_number_in_equal_bytes_has_moved() -> None:
    last = a_cut(_1_1=holding("Red"), _1_2=holding("Blue"))
    cut = a_cut(_9_1=holding("Red"), _1_2=holding("Blue"))
    left, came = (one.names.keys() for one in (last, cut))
    assert find_moved_presets(last, cut) == dict(zip(left - came, came - left, strict=True))


def test_of_two_that_are_alike_none_is_said_to_have_moved() -> None:
    last = a_cut(_1_1=holding("Red"), _1_2=holding("Red"))
    assert find_moved_presets(last, a_cut(_9_1=holding("Red"), _9_2=holding("Red"))) == {}
    assert find_moved_presets(last, a_cut(_9_1=holding("Red"))) == {}


def test_one_that_changed_on_its_way_or_is_copied_is_not_said_to_have_moved() -> None:
    last = a_cut(_1_1=holding("Red"))
    assert find_moved_presets(last, a_cut(_9_1=holding("Rose"))) == {}
    assert find_moved_presets(last, a_cut(_1_1=holding("Red"), _9_1=holding("Red"))) == {}


def names(*presets: Thing, between: str = ": ", more: str = "") -> bytes:
    levels = ", ".join(
        f'"{number}": {{"preset"{between}"{one.id}"}}' for number, one in enumerate(presets)
    )
    return f'{{"label": "Color 1.1"{more}, "levels": {{{levels}}}}}'.encode()


@pytest.mark.parametrize("between", [":", ": "])
def test_what_differs_in_the_names_alone_is_told_with_whose_they_are(between: str) -> None:
    moves = PresetMoves(MOVES)
    for _ in range(2):  # the second time, what was found first is tried first
        for old, new, movers in (
            ((RED, BLUE), (FAR, FURTHER), {RED, BLUE}),
            ((BLUE, BLUE), (FURTHER, FURTHER), {BLUE}),
            ((RED, RED), (FAR, FAR), {RED}),
        ):
            before, after = names(*old, between=between), names(*new, between=between)
            assert moves.movers(before, after) == movers


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (names(RED, RED), names(FAR, RED)),  # one of them stayed
        (names(RED), names(FAR, more=', "fade_in": 3')),  # something else changed as well
        (names(RED), names(RED)),  # nothing differs
        (names(RED), names(FURTHER)),  # it names another preset
        (names(RED, more=', "extra": {"preset": "Color 1.1"}'), names(FAR)),
        (
            names(RED, more=', "extra": {"preset": "Color 1.1"}'),
            names(FAR, more=', "extra": {"preset": "Color 9.1"}'),
        ),
    ],
)
def test_where_anything_else_may_differ_nothing_is_told(before: bytes, after: bytes) -> None:
    assert PresetMoves(MOVES).movers(before, after) == frozenset()


def test_presets_that_took_each_others_places_are_not_told_apart_by_names() -> None:
    assert not PresetMoves({RED: BLUE, BLUE: RED})
    assert not PresetMoves({RED: BLUE, BLUE: FAR})
    assert not PresetMoves({})


def text(old: Thing, new: Thing) -> tuple[bytes, bytes]:
    return (f'"preset": "{old.id}"'.encode(), f'"preset": "{new.id}"'.encode())


def test_what_followed_is_known_of_things_in_which_nothing_else_was_renamed() -> None:
    other = Thing("cue", "2", "1")
    both = frozenset({text(RED, FAR), text(BLUE, FURTHER)})
    renamed = {CUE: both, other: both | {text(RED, preset("Color 5.5"))}}
    moves = PresetMoves(MOVES, renamed)
    assert moves.known(CUE) == {RED, BLUE}
    assert moves.known(other) == moves.known(Thing("cue", "3", "1")) == frozenset()
    assert PresetMoves({RED: BLUE, BLUE: RED}, renamed).known(CUE) == frozenset()


references = st.lists(st.sampled_from([*MOVES, *MOVES.values()]), max_size=4)


@given(st.lists(st.tuples(references, references), max_size=6))
def test_what_is_told_is_so_whatever_was_told_before(pairs: list[tuple[list[Thing], ...]]) -> None:
    """Read as JSON: each reference that differs follows its preset, and all else is equal."""
    moves = PresetMoves(MOVES)
    for old, new in pairs:
        found = moves.movers(names(*old), names(*new))
        if found:
            before, after = (msgspec.json.decode(names(*side)) for side in (old, new))
            assert before.keys() == after.keys() and before["label"] == after["label"]
            followed = {a for a, b in zip(old, new, strict=True) if a != b}
            assert found == followed
            assert all(a == b or MOVES[a] == b for a, b in zip(old, new, strict=True))
