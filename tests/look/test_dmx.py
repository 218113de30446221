"""Which slots a look sets: GDTF 1.2 table 58 (coarse byte first), ANSI E1.11 (512 slots)."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import convert

from showvault.look.dmx import curved_level, dmx_of, slot_values
from showvault.look.tracking import look_at
from showvault.show.model import Curve
from showvault.show.reading import decode_show
from tests.builders import a_channel, a_cue, a_list, a_show, a_type, as_bytes
from tests.look.slow_walk import slow_slots


def slots(channels, levels, fixture=None, cells=None, **sections):
    tree = a_show(
        fixture_types={"t": a_type(*channels, mode="m", cells=cells)},
        patch={
            "1": {
                "type": "t",
                "mode": "m",
                "addresses": [{"universe": 1, "address": 1}],
                **(fixture or {}),
            }
        },
        cue_lists={"1": a_list({"1": a_cue(levels)})},
        **sections,
    )
    show = decode_show(as_bytes(tree))
    return dmx_of(show, look_at(show, "1", "1"))


@given(st.integers(0, 100_000_000), st.integers(1, 3))
def test_slots_agree_with_exact_decimals(level, count):
    assert list(slot_values(level, count)) == slow_slots(Decimal(level).scaleb(-6), count)


@pytest.mark.parametrize(
    ("percent", "count", "expected"),
    [
        (0, 1, [0]),
        (100, 1, [255]),
        (50, 1, [128]),  # 127.5: halves up
        (50, 2, [0x80, 0x00]),  # 32767.5
        (100, 3, [255, 255, 255]),
        ("0.196078", 1, [0]),  # just below one half of a step
        ("0.196079", 1, [1]),
    ],
)
def test_a_level_is_rounded_halves_up_and_sent_coarse_first(percent, count, expected):
    assert list(slot_values(int(Decimal(percent) * 1_000_000), count)) == expected


@given(st.integers(0, 65535))
def test_every_16_bit_value_survives_a_level_of_six_places(value):
    level = round(Fraction(value, 65535) * 100_000_000)
    assert int.from_bytes(slot_values(level, 2), "big") == value


def test_the_slots_of_a_channel_need_not_be_neighbours():
    sent = slots([a_channel("Pan", 3, 1)], {"1": {"Pan": 50}})[1]
    assert sent[:3] == bytes([0x00, 0, 0x80])


def test_a_virtual_channel_sends_nothing():
    virtual = {"attribute": "Dimmer", "slots": []}
    assert slots([virtual], {"1": {"Dimmer": 100}}) == {1: bytes(512)}


def test_a_fixture_sends_its_cells_too():
    cells = {"1": [a_channel("ColorAdd_R", 2)], "2": [a_channel("ColorAdd_R", 3)]}
    sent = slots([a_channel()], {"1": {"Dimmer": 100}, "1.2": {"ColorAdd_R": 100}}, cells=cells)
    assert sent[1][:3] == bytes([255, 0, 255])


def test_every_break_has_its_own_addresses():
    addresses = [{"universe": 1, "address": 10}, {"break": 2, "universe": 7, "address": 512}]
    sent = slots(
        [a_channel("Dimmer", 1), {**a_channel("Zoom", 1), "break": 2}],
        {"1": {"Dimmer": 100, "Zoom": 50}},
        {"addresses": addresses},
    )
    assert (sent[1][9], sent[7][511]) == (255, 128)


def test_a_dimmer_at_two_addresses_scales_and_curves_each():
    addresses = [
        {"universe": 1, "address": 1},
        {"universe": 1, "address": 2, "scale": 80, "curve": "2"},
    ]
    sent = slots(
        [a_channel()],
        {"1": {"Dimmer": 0}},
        {"addresses": addresses},
        curves={"2": {"points": [[0, 50], [100, 100]]}},
    )
    assert sent[1][:2] == bytes([0, 102])  # 50 % × 80 % of 255


def test_swapped_pan_and_tilt_change_channels_and_an_inverted_channel_turns_round():
    fixture = {"swap_pan_tilt": True, "invert": ["Pan"]}
    sent = slots(
        [a_channel("Pan", 1), a_channel("Tilt", 2)], {"1": {"Pan": 100, "Tilt": 20}}, fixture
    )
    assert sent[1][:2] == bytes([204, 255])  # Tilt 20 turned to 80 on Pan; Pan 100 on Tilt


def test_what_lies_past_slot_512_is_left_out():
    addresses = [{"universe": 1, "address": 512}]
    sent = slots([a_channel("Dimmer", 1, 2)], {"1": {"Dimmer": 100}}, {"addresses": addresses})
    assert sent[1][510:] == bytes([0, 255])


def test_a_curve_is_straight_between_its_points_and_level_outside():
    curve = convert({"points": [[10, 0], [20, 100]]}, Curve)
    levels = [curved_level(curve, Fraction(level * 1_000_000)) for level in (0, 10, 15, 20, 90)]
    assert levels == [0, 0, 50_000_000, 100_000_000, 100_000_000]
