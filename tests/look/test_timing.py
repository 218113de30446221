"""How long values and cues take. Common practice without a published source."""

from msgspec import convert

from showvault.look.fixtures import rig_of
from showvault.look.storing import stored_values
from showvault.look.timing import cue_length, direction_of, times_of
from showvault.show.model import Cue
from showvault.show.reading import decode_show
from tests.builders import a_channel, a_fixture, a_rig, a_type, as_bytes

RIG = rig_of(decode_show(as_bytes(a_rig())))


def times(cue, fixture, attribute, direction="in", rig=RIG):
    cue = convert(cue, Cue)
    return times_of(
        rig, cue, stored_values(cue, fixture, attribute)[0], fixture, attribute, direction
    )


def test_a_falling_intensity_takes_the_time_out_and_everything_else_the_time_in():
    assert direction_of("Dimmer", 50, 40) == "out"
    assert direction_of("Dimmer", 40, 50) == "in"
    assert direction_of("Pan", 50, 40) == "in"


def test_a_value_takes_its_own_time_before_its_classes_and_the_parts():
    cue = {
        "fade_in": 10,
        "times": {"Position": {"fade": 4}},
        "levels": {"101": {"Pan": {"level": 1, "fade": 2}, "Tilt": 1, "Dimmer": 1}},
    }
    assert times(cue, "101", "Pan").fade == 2000
    assert times(cue, "101", "Tilt").fade == 4000
    assert times(cue, "101", "Dimmer").fade == 10000


def test_a_part_takes_its_own_time_before_the_class_of_the_cue():
    part = {"fade_in": 7, "levels": {"101": {"Pan": 1}}}
    cue = {"fade_in": 1, "times": {"Position": {"fade": 4, "delay": 2}}, "parts": {"2": part}}
    assert times(cue, "101", "Pan") == (2000, 7000)


def test_an_absent_fade_out_is_the_fade_in_of_the_same_place():
    part = {"fade_in": 7, "levels": {"1": {"Dimmer": 1}}}
    cue = {"fade_in": 1, "fade_out": 9, "parts": {"2": part}}
    assert times(cue, "1", "Dimmer", "out").fade == 7000


def test_a_snap_attribute_jumps_after_its_delay():
    tree = a_rig(
        fixture_types={"t": a_type(a_channel("Gobo1", 1, snap=True), mode="m")},
        patch={"5": a_fixture("t", "m")},
    )
    rig = rig_of(decode_show(as_bytes(tree)))
    cue = {"fade_in": 3, "delay_in": 2, "levels": {"5": {"Gobo1": 1}}}
    assert times(cue, "5", "Gobo1", rig=rig) == (2000, 0)


def test_a_cue_without_times_is_over_at_once():
    assert cue_length(RIG, convert({"levels": {"1": {"Dimmer": 1}}}, Cue)) == 0


def test_a_cue_is_as_long_as_the_longest_delay_and_fade_of_all_parts():
    cue = {
        "fade_in": 3,
        "fade_out": 5,
        "delay_out": 1,
        "levels": {"1": {"Dimmer": {"level": 1, "fade": 1, "delay": 4.5}}},
        "parts": {"2": {"fade_in": 12, "delay_in": 0.125}},
    }
    # part 2: its own delay and fade; its absent delay out is its delay in
    assert cue_length(RIG, convert(cue, Cue)) == 12_125
    del cue["parts"]
    assert cue_length(RIG, convert(cue, Cue)) == 6_000
