"""What a show refers to is there. Common practice, no source."""

import pytest

from showvault.check.links import (
    find_missing_cues,
    find_missing_effects,
    find_missing_presets,
    find_missing_types,
)
from tests.builders import a_cue, a_fixture, a_list, a_rig, a_show_of_cues
from tests.check.rules import found, sentences


def test_a_fixture_of_an_unknown_type_or_mode_is_an_error() -> None:
    show = a_rig(patch={"1": a_fixture("fresnel"), "2": a_fixture(mode="16 bit"), "3": a_fixture()})
    assert found(find_missing_types, show) == [
        ("error", "missing-type", "/patch/1/type"),
        ("error", "missing-mode", "/patch/2/mode"),
    ]


def test_a_preset_for_an_unknown_type_is_an_error() -> None:
    show = a_rig(presets={"Color": {"1": {"types": {"wash": {}, "spot": {}}}}})
    show["presets"]["Color"]["1"]["types"]["spot"] = {"ColorAdd_R": 5}
    assert found(find_missing_types, show) == [
        ("error", "missing-type", "/presets/Color/1/types/spot")
    ]


def test_a_start_address_with_an_unknown_curve_is_an_error() -> None:
    show = a_rig(curves={"2": {}})
    start = {"universe": 1, "address": 1}
    show["patch"]["1"]["addresses"] = [{**start, "curve": "2"}, {**start, "curve": "3"}]
    assert found(find_missing_types, show) == [
        ("error", "missing-curve", "/patch/1/addresses/1/curve")
    ]


def test_a_reference_to_a_preset_that_is_not_there_is_an_error() -> None:
    show = a_show_of_cues(
        {"5": a_cue({"101": {"Pan": {"preset": "Position 9"}}})}, presets={"Color": {"9": {}}}
    )
    assert found(find_missing_presets, show) == [
        ("error", "missing-preset", "/cue_lists/1/cues/5/levels/101/Pan")
    ]
    assert sentences(find_missing_presets, show)[0].endswith("there is no Position preset 9")


@pytest.mark.parametrize(
    ("held", "enough"),
    [
        ({"all": {"Pan": 1}}, True),
        ({"types": {"wash": {"Pan": 1}}}, True),
        ({"levels": {"101": {"Pan": 0}}}, True),
        ({"all": {"Tilt": 1}}, False),
        ({"types": {"dimmer": {"Pan": 1}}}, False),
        ({"levels": {"102": {"Pan": 1}}}, False),
        ({}, False),
    ],
)
def test_a_preset_that_holds_nothing_for_the_fixture_is_an_error(held: dict, enough: bool) -> None:
    """Its own value, else one for its type, else one for all."""
    show = a_show_of_cues(
        {"5": a_cue({"101": {"Pan": {"preset": "Position 1.3"}}})},
        presets={"Position": {"1.3": held}},
    )
    expected = [("error", "preset-holds-nothing", "/cue_lists/1/cues/5/levels/101/Pan")]
    assert found(find_missing_presets, show) == ([] if enough else expected)


def test_a_preset_reference_in_a_part_and_in_a_submaster_is_looked_at() -> None:
    levels = {"101": {"Pan": {"preset": "Position 1"}}}
    show = a_show_of_cues(
        {"5": a_cue(parts={"2": {"levels": levels}})}, submasters={"1": {"levels": levels}}
    )
    assert [pointer for *_, pointer in found(find_missing_presets, show)] == [
        "/cue_lists/1/cues/5/parts/2/levels/101/Pan",
        "/submasters/1/levels/101/Pan",
    ]


def test_an_effect_that_is_not_there_is_an_error_in_a_cue_and_in_a_part() -> None:
    used = {"1.1": {"state": "start"}, "1.2": {"state": "stop"}}
    show = a_show_of_cues(
        {"5": a_cue(effects=used, parts={"2": {"effects": used}})}, effects={"1.1": {}}
    )
    assert found(find_missing_effects, show) == [
        ("error", "missing-effect", "/cue_lists/1/cues/5/effects/1.2"),
        ("error", "missing-effect", "/cue_lists/1/cues/5/parts/2/effects/1.2"),
    ]


@pytest.mark.parametrize(
    ("link", "rule"),
    [
        ({"cue": "5"}, None),
        ({"cue": "6"}, "missing-cue"),
        ({"list": "2"}, None),
        ({"list": "3"}, "missing-list"),
        ({"list": "3", "cue": "1"}, "missing-list"),
        ({"list": "2", "cue": "1"}, None),
        ({"list": "2", "cue": "5"}, "missing-cue"),
        ({}, "empty-link"),
    ],
)
def test_a_link_leads_to_a_cue_that_is_there(link: dict, rule: str | None) -> None:
    show = a_show_of_cues({"5": a_cue(link=link), "7": a_cue(also_go=[link])})
    show["cue_lists"]["2"] = a_list({"1": a_cue()})
    assert [(name, pointer) for _, name, pointer in found(find_missing_cues, show)] == (
        [(rule, "/cue_lists/1/cues/5/link"), (rule, "/cue_lists/1/cues/7/also_go/0")]
        if rule
        else []
    )


def test_a_playback_of_a_list_that_is_not_there_is_an_error() -> None:
    show = a_show_of_cues(
        {"1": a_cue()}, playbacks={"1.1": {"cue_list": "1"}, "1.2": {"cue_list": "4"}}
    )
    assert found(find_missing_cues, show) == [("error", "missing-list", "/playbacks/1.2/cue_list")]


def test_attributes_are_said_as_the_trade_does_and_the_pointer_keeps_their_names() -> None:
    show = a_show_of_cues(
        {"5": a_cue({"101": {"ColorAdd_R": {"preset": "Color 1.9"}}})},
        presets={"Color": {"1.9": {"name": "Straw"}}},
    )
    ((_, _, pointer),) = found(find_missing_presets, show)
    assert pointer.endswith("/levels/101/ColorAdd_R")
    assert sentences(find_missing_presets, show) == [
        "list 1 cue 5, fixture 101 red: Color preset page 1 slot 9 holds no red for fixture 101"
    ]
