"""Fixtures in use are there, are patched, and have the attribute. Common practice, no source."""

import pytest

from showvault.check.uses import (
    find_effects_without_an_attribute,
    find_lacking_attributes,
    find_missing_fixtures,
    find_unpatched_fixtures,
)
from tests.builders import (
    a_channel,
    a_cue,
    a_fixture,
    a_rig,
    a_show,
    a_show_of_cues,
    a_type,
)
from tests.check.rules import found, sentences

LEVELS = {"9": {"Dimmer": 5}}


@pytest.mark.parametrize(
    ("sections", "pointer"),
    [
        ({"cue_lists": {"1": {"cues": {"5": {"levels": LEVELS}}}}}, "/cue_lists/1/cues/5/levels/9"),
        (
            {"cue_lists": {"1": {"cues": {"5": {"parts": {"2": {"levels": LEVELS}}}}}}},
            "/cue_lists/1/cues/5/parts/2/levels/9",
        ),
        ({"presets": {"Dimmer": {"1": {"levels": LEVELS}}}}, "/presets/Dimmer/1/levels/9"),
        ({"submasters": {"1": {"levels": LEVELS}}}, "/submasters/1/levels/9"),
        ({"groups": {"1": {"fixtures": [1, 9]}}}, "/groups/1/fixtures/1"),
        ({"groups": {"1": {"fixtures": ["9.1"]}}}, "/groups/1/fixtures/0"),
        ({"effects": {"1": {"fixtures": [9]}}}, "/effects/1/fixtures/0"),
    ],
)
def test_a_fixture_that_is_not_there_is_an_error_wherever_it_is_used(
    sections: dict, pointer: str
) -> None:
    assert found(find_missing_fixtures, a_rig(**sections)) == [
        ("error", "missing-fixture", pointer)
    ]


def a_show_with_cells(**sections: dict) -> dict:
    cells = {"1": [a_channel("ColorAdd_R", 2)], "2": [a_channel("ColorAdd_R", 3)]}
    return a_show(
        fixture_types={"bar": a_type(a_channel("Dimmer", 1), cells=cells)},
        patch={"1": a_fixture("bar")},
        **sections,
    )


def test_a_cell_that_the_mode_does_not_have_is_an_error() -> None:
    show = a_show_with_cells(
        groups={"1": {"fixtures": ["1.1", "1.2", "1.3", 1]}},
        submasters={"1": {"levels": {"1.4": {"ColorAdd_R": 1}}}},
    )
    assert found(find_missing_fixtures, show) == [
        ("error", "missing-cell", "/submasters/1/levels/1.4"),
        ("error", "missing-cell", "/groups/1/fixtures/2"),
    ]


def test_a_fixture_without_an_address_is_a_warning_once_naming_its_first_use() -> None:
    show = a_show_of_cues({"1": a_cue({"1": {"Dimmer": 5}}), "2": a_cue({"1": {"Dimmer": 6}})})
    show["patch"]["1"] = a_fixture(universe=None)
    show["patch"]["2"] = a_fixture(universe=None)
    show["groups"] = {"1.3": {"fixtures": [1, 3]}}
    assert found(find_unpatched_fixtures, show) == [("warning", "not-patched", "/patch/1")]
    assert sentences(find_unpatched_fixtures, show) == [
        "fixture 1: not patched, and used in list 1 cue 1 and 2 more places"
    ]


def test_the_parts_of_one_cue_are_one_use() -> None:
    cue = a_cue({"1": {"Dimmer": 5}}, parts={"2": {"levels": {"1": {"Dimmer": 6}}}})
    show = a_show_of_cues({"1": cue})
    show["patch"]["1"] = a_fixture(universe=None)
    assert sentences(find_unpatched_fixtures, show) == [
        "fixture 1: not patched, and used in list 1 cue 1"
    ]


def test_a_fixture_whose_channels_have_no_slots_needs_no_address() -> None:
    """A channel without slots exists without an address (a virtual intensity)."""
    virtual = {"modes": {"8 bit": {"channels": [{"attribute": "Dimmer", "slots": []}]}}}
    show = a_show(
        fixture_types={"virtual": virtual},
        patch={"1": a_fixture("virtual", universe=None)},
        groups={"1": {"fixtures": [1]}},
    )
    assert found(find_unpatched_fixtures, show) == []


def test_an_attribute_that_the_mode_lacks_is_an_error_where_a_value_is_stored() -> None:
    show = a_show_of_cues({"5": a_cue({"1": {"Dimmer": 5, "Pan": 5}, "101": {"Pan": 5}})})
    show["presets"] = {"Position": {"1": {"levels": {"2": {"Tilt": 1}}}}}
    assert found(find_lacking_attributes, show) == [
        ("error", "lacks-attribute", "/cue_lists/1/cues/5/levels/1/Pan"),
        ("error", "lacks-attribute", "/presets/Position/1/levels/2/Tilt"),
    ]
    assert sentences(find_lacking_attributes, show)[0] == (
        'list 1 cue 5, fixture 1 pan: fixture 1 has no pan in mode "8 bit" of type "dimmer"'
    )


def test_an_attribute_that_only_a_cell_has_is_lacking_in_the_fixture_and_said_so() -> None:
    show = a_show_with_cells(
        submasters={"1": {"levels": {"1": {"ColorAdd_R": 1}, "1.2": {"ColorAdd_R": 1}}}}
    )
    (sentence,) = sentences(find_lacking_attributes, show)
    assert sentence.endswith("; another cell of it has")


def test_nothing_is_said_of_attributes_where_the_type_is_unknown() -> None:
    show = a_show(patch={"1": a_fixture("gone")}, submasters={"1": {"levels": {"1": {"Pan": 1}}}})
    assert found(find_lacking_attributes, show) == []


def test_an_inverted_attribute_that_the_mode_lacks_is_a_warning() -> None:
    show = a_rig()
    show["patch"]["1"]["invert"] = ["Dimmer", "Pan"]
    assert found(find_lacking_attributes, show) == [
        ("warning", "lacks-attribute", "/patch/1/invert/1")
    ]


def test_an_effect_on_what_none_of_its_fixtures_has_is_a_warning() -> None:
    swing = {"attributes": {"Pan": {}, "Dimmer": {}}}
    show = a_rig(effects={"1": {**swing, "fixtures": [1, 2]}, "2": {**swing, "fixtures": [1, 101]}})
    assert found(find_effects_without_an_attribute, show) == [
        ("warning", "lacks-attribute", "/effects/1/attributes/Pan")
    ]
