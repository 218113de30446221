"""One byte sequence for one show, and a schema that other programs can hold shows against."""

import json
import math
import random
import struct
from decimal import Decimal

import jsonschema
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from showvault.show.model import Show
from showvault.show.reading import find_faults, parse_tree
from showvault.show.trees import Tree
from showvault.show.writing import canonical_tree, show_schema, write_show
from tests.builders import a_cue, a_full_show, a_show, a_show_of_cues, as_bytes
from tests.strategies import damaged, shows, spell

VALIDATOR = jsonschema.Draft202012Validator(show_schema())
laws = settings(deadline=None, suppress_health_check=list(HealthCheck), max_examples=100)


def number_as_written(number: Tree) -> str:
    written = write_show(a_show(extra=[number])).decode()
    return written.rpartition("[")[2].partition("]")[0].strip()


# RFC 8785, appendix B: IEEE 754 doubles by their bits, and how the standard writes them. Ours is
# the same wherever the standard writes a plain decimal. Numbers of more than 21 digits or below
# a millionth differ on purpose: a decimal of a show is not a double, so a whole number is written
# out up to 300 digits, and an exponent is written as Python's decimals do.
RFC_8785 = [
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"),
    ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"),
    ("41b3de4355555554", "333333333.33333325"),
    ("41b3de4355555555", "333333333.3333333"),
    ("41b3de4355555556", "333333333.3333334"),
    ("41b3de4355555557", "333333333.33333343"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
]


@pytest.mark.parametrize(("bits", "standard"), RFC_8785)
def test_a_double_is_written_as_rfc_8785_writes_it_wherever_that_has_no_exponent(
    bits: str, standard: str
) -> None:
    (double,) = struct.unpack(">d", bytes.fromhex(bits))
    written = number_as_written(double)
    assert written == standard or "e" in standard
    assert Decimal(written) == Decimal(standard)


@pytest.mark.parametrize(
    ("number", "written"),
    [
        (Decimal("50.0"), "50"),
        (Decimal("5E+1"), "50"),
        (Decimal("62.50"), "62.5"),
        (Decimal("-0.0"), "0"),
        (Decimal("0.000001"), "0.000001"),
        (Decimal("1E-6"), "0.000001"),
        (Decimal("1" + "0" * 30 + ".5"), "1" + "0" * 30 + ".5"),
        (10**30, "1" + "0" * 30),
        (10**39, "1" + "0" * 39),
        (Decimal("1E+39"), "1" + "0" * 39),
        (10**299, "1" + "0" * 299),
        (Decimal("1E+299"), "1" + "0" * 299),
        (10**300, "1E+300"),
        (Decimal("1E+300"), "1E+300"),
        (Decimal("0.00000010"), "1E-7"),
    ],
)
def test_a_number_is_written_in_its_shortest_plain_form_and_never_rounded(
    number: Tree, written: str
) -> None:
    assert number_as_written(number) == written


@pytest.mark.parametrize("number", [Decimal("1E+400"), Decimal("-1E-400"), Decimal("7" * 60)])
def test_a_number_of_very_many_digits_reads_as_the_same_number(number: Decimal) -> None:
    assert parse_tree(f"[{number_as_written(number)}]".encode()) == [number]


@pytest.mark.parametrize("number", [math.nan, math.inf, Decimal("-Infinity"), Decimal("NaN")])
def test_what_json_has_no_word_for_is_not_written(number: Tree) -> None:
    with pytest.raises(ValueError, match="cannot be written"):
        write_show(a_show(extra=number))


def test_fields_stand_in_the_order_of_the_model_and_things_in_that_of_their_numbers() -> None:
    cues = {"10": {"label": "b", "extra": 1, "fade_in": 1}, "9.5": {"notes": "", "label": ""}}
    show = {"cue_lists": {"2": {"cues": cues}, "1": {}}, "extra": {"b": 1, "a": 2}, **a_show()}
    assert json.dumps(json.loads(as_bytes(show))) == json.dumps(
        {
            "format": "neutral-show",
            "format_version": 1,
            "cue_lists": {
                "1": {},
                "2": {
                    "cues": {
                        "9.5": {"label": "", "notes": ""},
                        "10": {"label": "b", "fade_in": 1, "extra": 1},
                    }
                },
            },
            "extra": {"a": 2, "b": 1},
        }
    )


def test_an_empty_collection_is_the_same_as_an_absent_one_but_a_thing_that_is_there_stays() -> None:
    empty = a_show(
        capacity={},
        groups={"1": {"fixtures": []}},
        macros={},
        presets={"Color": {"1": {"levels": {"101": {}}}}, "Beam": {}},
        cue_lists={"1": {"cues": {"5": {"levels": {}, "parts": {"2": {}}}}}},
    )
    assert json.loads(as_bytes(empty)) == a_show(
        groups={"1": {}},
        presets={"Color": {"1": {}}},
        cue_lists={"1": {"cues": {"5": {"parts": {"2": {}}}}}},
    )


def test_a_channel_without_slots_keeps_its_empty_list() -> None:
    """A channel with no slots exists without an address: the empty list says so."""
    channel = {"attribute": "Dimmer", "slots": []}
    show = a_show(fixture_types={"a": {"modes": {"m": {"channels": [channel]}}}})
    assert json.loads(as_bytes(show)) == show


def test_the_order_of_lists_is_kept() -> None:
    show = a_show(groups={"1": {"fixtures": [3, "1.2", 2, 1]}}, macros={"1": {"steps": ["b", "a"]}})
    assert json.loads(as_bytes(show)) == show


def test_text_is_utf_8_and_the_file_ends_with_one_line_feed() -> None:
    written = as_bytes(a_show(title="Łódź ⚡ \u2028"))
    assert "Łódź ⚡ \u2028".encode() in written
    assert written.endswith(b"}\n")
    assert not written.endswith(b"\n\n")


def test_unknown_keys_are_kept_in_the_order_of_their_letters() -> None:
    show = a_show_of_cues({"1": a_cue(zeal=1, colour={"b": 1, "a": 2})})
    assert json.dumps(canonical_tree(show, Show)["cue_lists"]["1"]["cues"]["1"]) == json.dumps(
        {"fade_in": 3, "colour": {"a": 2, "b": 1}, "zeal": 1}
    )


# The schema is JSON Schema 2020-12; the judge is the library jsonschema.


def test_the_schema_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(show_schema())
    assert VALIDATOR.is_valid(a_full_show())


@pytest.mark.parametrize(
    ("value", "kept"),
    [
        (50, True),
        ({"level": 50, "fade": 1}, True),
        ({"release": True}, True),
        ({"release": False}, False),
        ({"fade": 1}, False),
        ({"level": 1, "release": True}, False),
        ({"level": 1, "preset": "Color 1"}, False),
        ({"preset": "Colour 1"}, False),
        ({"preset": "Color 01"}, False),
        (None, False),
        ("50", False),
        (-0.5, False),
        (100.5, False),
    ],
)
def test_a_stored_value_is_one_level_one_preset_or_a_release(value: Tree, kept: bool) -> None:
    show = a_show_of_cues({"1": a_cue({"101": {"ColorAdd_R": value}})})
    assert VALIDATOR.is_valid(show) is kept
    assert (find_faults(spell(show, random.Random(0))) == []) is kept


@laws
@given(shows)
def test_every_generated_show_keeps_to_the_schema(show: Tree) -> None:
    VALIDATOR.validate(parse_tree(as_bytes(show)))


@laws
@given(shows, st.data())
def test_the_schema_and_the_reader_agree_on_every_damaged_show(
    show: Tree, data: st.DataObject
) -> None:
    """All but decimal places, and numbers that no double holds: a schema cannot tell them."""
    tree = data.draw(damaged(parse_tree(as_bytes(show))))
    faults = find_faults(spell(tree, random.Random(0)))
    assume(not any("(401 characters)" in fault.found for fault in faults))
    faults = [fault for fault in faults if "decimal places" not in fault.expected]
    assert VALIDATOR.is_valid(tree) == (not faults), faults
