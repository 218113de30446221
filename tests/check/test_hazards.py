"""What in a show can hurt someone is pointed out, and what was looked at is said."""

import pytest

from showvault.check.hazards import find_flashing_effects, find_hazards, find_strobes_in_use
from tests.builders import a_channel, a_cue, a_fixture, a_list, a_show, a_type
from tests.check.rules import found, sentences

FUNCTIONS = [
    {"name": "Closed", "from": 0, "to": 10},
    {"name": "Strobe", "from": 10, "to": 90, "physical": [1, 21], "unit": "Hz"},
    {"name": "Open", "from": 90, "to": 100},
]


def a_show_of_strobes(levels: dict, **sections: dict) -> dict:
    shutter = a_channel("Shutter1", 2, default=100, functions=FUNCTIONS)
    return a_show(
        fixture_types={"flash": a_type(a_channel("Dimmer", 1), shutter)},
        patch={"1": a_fixture("flash"), "2": a_fixture("flash", address=11)},
        cue_lists={"1": a_list({"5": a_cue(levels)})},
        **sections,
    )


@pytest.mark.parametrize(
    ("hazard", "severity", "rule"),
    [
        ("emergency", "warning", "emergency-light"),
        ("house", "note", "house-light"),
        ("laser", "note", "laser"),
        ("flame", "note", "flame"),
        ("pyrotechnic", "note", "pyrotechnic"),
    ],
)
def test_a_type_with_such_a_hazard_is_told_once_naming_its_fixtures(
    hazard: str, severity: str, rule: str
) -> None:
    show = a_show(
        fixture_types={"special": a_type(hazards=[hazard])},
        patch={str(n): a_fixture("special", address=n) for n in (1, 10, 2)},
    )
    assert found(find_hazards, show) == [(severity, rule, "/fixture_types/special")]
    assert "fixtures 1, 2, 10: " in sentences(find_hazards, show)[0]


@pytest.mark.parametrize("hazard", ["moving", "fog", "haze", "uv", "motor", "non_dim"])
def test_other_hazards_are_no_finding_and_neither_is_a_type_that_nobody_uses(hazard: str) -> None:
    types = {"special": a_type(hazards=[hazard]), "unused": a_type(hazards=["laser"])}
    assert found(find_hazards, a_show(fixture_types=types, patch={"1": a_fixture("special")})) == []


def test_a_strobe_in_use_is_a_warning_with_its_rate() -> None:
    """Straight between the physical ends: half way between 1 and 21 Hz is 11 Hz."""
    show = a_show_of_strobes({"1": {"Shutter1": 50}, "2": {"Shutter1": 100, "Dimmer": 50}})
    assert found(find_strobes_in_use, show) == [("warning", "strobe-in-use", "/cue_lists/1/cues/5")]
    assert sentences(find_strobes_in_use, show) == [
        "list 1 cue 5: strobe in use on fixture 1, up to 11 times a second, above three flashes a "
        "second"
    ]


def test_a_slow_strobe_is_told_too() -> None:
    (sentence,) = sentences(find_strobes_in_use, a_show_of_strobes({"1": {"Shutter1": 12}}))
    assert sentence.endswith("on fixture 1, up to 1.5 times a second")


def test_a_strobe_that_a_preset_sets_is_found() -> None:
    show = a_show_of_strobes(
        {"1": {"Shutter1": {"preset": "Beam 1"}}, "2": {"Shutter1": {"preset": "Beam 2"}}},
        presets={"Beam": {"1": {"types": {"flash": {"Shutter1": 50}}}, "2": {}}},
    )
    (sentence,) = sentences(find_strobes_in_use, show)
    assert "on fixture 1, up to 11 times" in sentence


def test_where_no_strobe_is_in_use_the_check_says_what_it_looked_at() -> None:
    show = a_show_of_strobes({"1": {"Shutter1": 95}, "2": {"Shutter1": {"release": True}}})
    assert found(find_strobes_in_use, show) == [("note", "strobe-looked-at", "")]
    assert "Not looked at: macros" in sentences(find_strobes_in_use, show)[0]


@pytest.mark.parametrize(
    ("cycle", "rate", "flashes"),
    [(1, 1, False), (1, 3, False), (1, 3.5, True), (0.25, 1, True), (0.25, 0.5, False)],
)
def test_an_effect_above_three_cycles_a_second_is_a_warning_where_it_is_started(
    cycle: float, rate: float, flashes: bool
) -> None:
    """WCAG 2.3.1, general flash threshold: not more than three flashes in any one second."""
    show = a_show_of_strobes(
        {}, effects={"1": {"cycle_seconds": cycle, "attributes": {"Dimmer": {}}}}
    )
    show["cue_lists"]["1"]["cues"]["5"]["effects"] = {"1": {"state": "start", "rate": rate}}
    expected = [("warning", "effect-flashes", "/cue_lists/1/cues/5")]
    assert found(find_flashing_effects, show) == (expected if flashes else [])


def test_an_effect_that_no_cue_starts_is_judged_at_its_own_speed() -> None:
    fast = {"cycle_seconds": 0.1, "attributes": {"Dimmer": {}}}
    show = a_show(effects={"1": fast, "2": {**fast, "attributes": {"Pan": {}}}})
    assert found(find_flashing_effects, show) == [("warning", "effect-flashes", "/effects/1")]
