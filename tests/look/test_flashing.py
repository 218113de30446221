"""How often light flashes: channel functions in Hz (GDTF 1.2), WCAG 2.2 criterion 2.3.1."""

from fractions import Fraction

from msgspec import convert

from showvault.look.chains import CueOrder, CueRef, chain_from
from showvault.look.fixtures import rig_of
from showvault.look.flashing import chain_rate, effect_rate, strobe_rate, strobes_in
from showvault.look.tracking import all_looks, look_at
from showvault.show.model import Channel, CueEffect, Effect
from showvault.show.reading import decode_show
from tests.builders import a_cue, a_fixture, a_rig, a_show_of_cues, a_type, as_bytes

STROBING = {"5": {"Shutter1": 60}}
OPEN = {"5": {"Shutter1": 20}}
SHUTTER = {
    "attribute": "Shutter1",
    "slots": [1],
    "default": 100,
    "functions": [
        {"name": "Closed", "from": 0, "to": 10},
        {"name": "Strobe", "from": 10, "to": 90, "physical": [1, 20], "unit": "Hz"},
        {"name": "Open", "from": 90, "to": 100},
    ],
}


def test_a_strobe_function_gives_its_rate_straight_between_its_ends():
    channel = convert(SHUTTER, Channel)
    rates = [strobe_rate(channel, level * 1_000_000) for level in (5, 10, 50, 90, 100)]
    assert rates == [None, 1, Fraction(21, 2), None, None]


def test_a_channel_that_is_in_hertz_all_over_gives_its_rate():
    channel = convert(
        {"attribute": "StrobeFrequency", "slots": [1], "range": [0, 25], "unit": "Hz"}, Channel
    )
    assert strobe_rate(channel, 40_000_000) == 10


def test_a_strobe_in_use_is_found_though_it_does_not_tell_its_rate():
    shutter = {**SHUTTER, "functions": [{"name": "Random strobe", "from": 50, "to": 100}]}
    tree = a_rig(
        fixture_types={"t": a_type(shutter, mode="m")},
        patch={"5": a_fixture("t", "m")},
        cue_lists={
            "1": {
                "cues": {"1": a_cue({"5": {"Shutter1": 60}}), "2": a_cue({"5": {"Shutter1": 20}})}
            }
        },
    )
    show = decode_show(as_bytes(tree))
    (found,) = strobes_in(rig_of(show), look_at(show, "1", "1"))
    assert (found.fixture, found.function, found.rate) == ("5", "Random strobe", None)
    assert strobes_in(rig_of(show), look_at(show, "1", "2")) == []


def test_an_effect_flashes_once_a_cycle_as_fast_as_its_cue_runs_it():
    effect = convert({"cycle_seconds": 0.5, "attributes": {"Dimmer": {"low": 0}}}, Effect)
    assert effect_rate(effect) == 2
    assert effect_rate(effect, convert({"state": "start", "rate": 2.5}, CueEffect)) == 5


def test_an_effect_on_positions_does_not_flash():
    effect = convert({"cycle_seconds": 0.5, "attributes": {"Pan": {"low": 0}}}, Effect)
    assert effect_rate(effect) is None


def rates(cues, first):
    show = decode_show(as_bytes(a_show_of_cues(cues)))
    chain = chain_from(CueOrder(show), rig_of(show), CueRef("1", first))
    table = all_looks(show, "1")
    return chain_rate(chain, {("1", cue): table.look(cue) for cue in table.cues})


def test_a_chain_of_follows_flashes_each_time_a_light_falls_and_rises_again():
    cues = {
        str(n): a_cue({"1": {"Dimmer": 100 * (n % 2)}}, fade_in=0, follow={"seconds": 0.1})
        for n in range(1, 10)
    }
    assert rates(cues, "1") == {"1": 4}


def test_a_chain_of_slow_cues_flashes_once_in_a_second_at_most():
    cues = {
        str(n): a_cue({"1": {"Dimmer": 100 * (n % 2)}}, fade_in=0, follow={"seconds": 1})
        for n in range(1, 10)
    }
    assert rates(cues, "1") == {"1": 1}


def test_a_loop_is_followed_until_a_second_is_full():
    cues = {
        "1": a_cue({"1": {"Dimmer": 100}}, follow={"seconds": 0.1}),
        "2": a_cue({"1": {"Dimmer": 0}}, follow={"seconds": 0.1}, link={"cue": "1"}),
    }
    assert rates(cues, "1") == {"1": 5}


def test_a_change_of_less_than_a_tenth_is_no_flash():
    cues = {
        str(n): a_cue({"1": {"Dimmer": 50 + 9 * (n % 2)}}, follow={"seconds": 0.1})
        for n in range(1, 10)
    }
    assert rates(cues, "1") == {}
