"""Plain values are compared as JSON: exactly, and true is not 1."""

from decimal import Decimal

import pytest

from showvault.show.trees import NonFinite, parse_part, same_tree, without_trailing_zeros


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        (50, Decimal("50.0"), True),
        (True, 1, False),
        (False, 0, False),
        (None, 0, False),
        ("1", 1, False),
        ([1, 2], [2, 1], False),
        ([1], [1, 2], False),
        ({"a": 1, "b": 2}, {"b": 2, "a": 1}, True),
        ({"a": 1}, {"a": 1, "b": None}, False),
        ({"a": [True]}, {"a": [1]}, False),
        (Decimal("0.1"), Decimal("0.1000000000000000000000000000000000001"), False),
        ({}, [], False),
        (NonFinite("NaN"), NonFinite("NaN"), True),
    ],
)
def test_values_are_the_same_as_json_says(one: object, other: object, same: bool) -> None:
    assert same_tree(one, other) is same
    assert same_tree(other, one) is same


def test_a_part_is_parsed_with_exact_decimals() -> None:
    assert parse_part(b'{"a": [0.1, 12, 1e2]}') == {"a": [Decimal("0.1"), 12, Decimal("1E+2")]}


def test_a_part_with_bytes_that_are_no_utf_8_is_parsed_as_far_as_it_goes() -> None:
    assert parse_part(b'{"label": "caf\xe9 \xc3\xa9", "fade_in": 3}') == {
        "label": "caf\ufffd é",
        "fade_in": 3,
    }


def test_a_part_with_a_whole_number_of_any_length_is_parsed_exactly() -> None:
    # Python's int() takes 4,300 digits at once (its documentation: "Integer string conversion
    # length limitation"), and the fast parser as many.
    digits = "7" * 5000
    assert parse_part(f'{{"extra": [{digits}, 0.1, -{digits}]}}'.encode()) == {
        "extra": [Decimal(digits), Decimal("0.1"), Decimal(f"-{digits}")]
    }
    assert parse_part(b'["caf\xe9' + f'", {digits}]'.encode()) == [
        "caf\ufffd",
        Decimal(digits),
    ]


def test_trailing_zeros_go_and_nothing_is_rounded() -> None:
    long = "1." + "0" * 40 + "1"
    assert without_trailing_zeros(Decimal(long + "000")).as_tuple() == Decimal(long).as_tuple()
    assert without_trailing_zeros(Decimal("50.0")) == 50
    assert str(without_trailing_zeros(Decimal("7" * 50))) == "7" * 50
