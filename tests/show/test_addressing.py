"""Numbers of a show: written in the shortest form, ordered as numbers, said in trade words."""

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvault.show.addressing import (
    KEY_PATTERNS,
    CueNumberError,
    Thing,
    addresses_taken,
    cue_order,
    place_order,
    say_fixture,
    say_place,
    say_thing,
    shortest_cue_number,
    thing_order,
)

cue_numbers = st.integers(0, 10**12 - 1).map(lambda thousandths: Decimal(thousandths).scaleb(-3))


@given(cue_numbers)
def test_a_cue_number_orders_as_a_number_and_never_as_a_text(number: Decimal) -> None:
    key = shortest_cue_number(f"{number}")
    assert Decimal(key) == number
    assert re.fullmatch(KEY_PATTERNS["cue"], key)
    assert cue_order(key) == (int(number), int(number * 1000) % 1000, "")


def test_nine_comes_before_nine_and_a_half_before_ten() -> None:
    assert sorted(["10", "9.5", "9", "0", "0.5", "9.05"], key=cue_order) == [
        "0",
        "0.5",
        "9",
        "9.05",
        "9.5",
        "10",
    ]


@pytest.mark.parametrize(
    ("typed", "shortest"),
    [
        ("12.50", "12.5"),
        ("012.5", "12.5"),
        (" 12 ", "12"),
        ("12.000", "12"),
        ("0", "0"),
        ("000", "0"),
        ("0.5", "0.5"),
        ("12.", "12"),
        ("1.05", "1.05"),
    ],
)
def test_a_cue_number_is_brought_to_its_shortest_form(typed: str, shortest: str) -> None:
    assert shortest_cue_number(typed) == shortest


@pytest.mark.parametrize(
    "typed", ["", "1.2345", "-1", "1,5", "1e3", "a", ".5", "1.2.3", "1234567890", "1\n2", "\u0661"]
)
def test_what_is_no_cue_number_is_refused_with_a_way_forward(typed: str) -> None:
    with pytest.raises(CueNumberError) as caught:
        shortest_cue_number(typed)
    assert caught.value.hint
    assert caught.value.exit_code == 2


@pytest.mark.parametrize(
    ("form", "good", "bad"),
    [
        ("cue", ["0", "0.5", "12.125"], ["12.50", "01", "1.2345", "", "-1", "1.", "1e2"]),
        ("place", ["0", "7", "1.10", "1.0"], ["1.01", "01", "1.2.3", "", "a", "1."]),
        ("fixture", ["1", "999999999"], ["0", "01", "1.1", "-1", "1000000000"]),
        ("fixture or cell", ["1", "101.2"], ["0", "1.0", "0.1", "1.01", "1.1.1"]),
        ("number", ["1", "10"], ["0", "01", "1.5"]),
    ],
)
def test_keys_are_written_in_their_shortest_form(
    form: str, good: list[str], bad: list[str]
) -> None:
    for key in good:
        assert re.fullmatch(KEY_PATTERNS[form], key), key
    for key in bad:
        assert not re.fullmatch(KEY_PATTERNS[form], key), key


def test_page_1_slot_3_comes_before_page_1_slot_10_and_odd_keys_last() -> None:
    keys = ["zebra", "2", "1.10", "1.3", "1.0", "1", "10.1"]
    assert sorted(keys, key=place_order) == ["1", "1.0", "1.3", "1.10", "2", "10.1", "zebra"]
    assert sorted(["x", "1.2345", "1"], key=cue_order)[-1] == "x"


@pytest.mark.parametrize(
    ("thing", "words"),
    [
        (Thing("show", ""), "the show"),
        (Thing("cue", "12.5", "1"), "list 1 cue 12.5"),
        (Thing("cue_list", "1"), "list 1"),
        (Thing("preset", "Color 1.3"), "Color preset page 1 slot 3"),
        (Thing("preset", "Position 7"), "Position preset 7"),
        (Thing("fixture", "101"), "fixture 101"),
        (Thing("fixture_type", "wash"), "fixture type wash"),
        (Thing("group", "1.1"), "group page 1 slot 1"),
        (Thing("submaster", "3"), "submaster 3"),
        (Thing("playback", "1.2"), "playback page 1 slot 2"),
    ],
)
def test_a_thing_is_said_in_trade_words(thing: Thing, words: str) -> None:
    assert say_thing(thing) == words


def test_places_and_cells_are_said_in_words() -> None:
    assert say_place("1.3") == "page 1 slot 3"
    assert say_place("7") == "7"
    assert say_fixture("101.2") == "101 cell 2"
    assert say_fixture("101") == "101"


def test_things_come_in_the_order_of_a_show_and_of_their_numbers() -> None:
    things = [
        Thing("cue", "9", "10"),
        Thing("cue", "10", "2"),
        Thing("cue", "9.5", "2"),
        Thing("preset", "Color 1.10"),
        Thing("preset", "Color 1.3"),
        Thing("fixture", "12"),
        Thing("fixture", "2"),
    ]
    assert sorted(things, key=thing_order) == [*things[:4:-1], *things[4:2:-1], *things[2::-1]]


def test_a_footprint_takes_the_addresses_from_its_start_on() -> None:
    """A footprint of 0 takes none (ANSI E1.20); one may run past 512, which the check reports."""
    assert list(addresses_taken(511, 3)) == [511, 512, 513]
    assert not addresses_taken(1, 0)
