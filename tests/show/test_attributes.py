"""Attributes fall into the feature groups of GDTF."""

import pytest
from pygdtf.utils.attribute_definitions_data import ANNEX_ATTRIBUTE_DEFINITIONS

from showvault.show.attributes import FEATURE_GROUPS, feature_group

# Source: GDTF 1.2 (DIN SPEC 15800:2022-02), Annexes A and B, in the copy that pygdtf carries.
ANNEX_B = {
    attribute["name"]: attribute["feature"].partition(".")[0]
    for attribute in ANNEX_ATTRIBUTE_DEFINITIONS["attributes"]
}


def test_the_annex_is_there_in_full() -> None:
    assert len(ANNEX_B) == 279


def test_the_feature_groups_are_those_of_the_annex() -> None:
    assert set(FEATURE_GROUPS) == {
        group["name"] for group in ANNEX_ATTRIBUTE_DEFINITIONS["feature_groups"]
    }


@pytest.mark.parametrize("number", ["1", "2", "12", ""])
def test_every_attribute_of_the_annex_lands_in_its_group(number: str) -> None:
    found = {
        name: feature_group(name.replace("(n)", number).replace("(m)", number)) for name in ANNEX_B
    }
    assert found == ANNEX_B


def test_names_are_compared_without_regard_to_case() -> None:
    """GDTF 1.2, Annex A: attribute names are not case-sensitive."""
    found = {name: feature_group(name.replace("(n)", "1").upper()) for name in ANNEX_B}
    found["VideoEffect(n)Parameter(m)"] = feature_group("VIDEOEFFECT1PARAMETER2")
    found["Effects(n)Adjust(m)"] = feature_group("EFFECTS1ADJUST2")
    assert found == ANNEX_B


@pytest.mark.parametrize(
    ("attribute", "group"),
    [
        ("Iris", "Beam"),
        ("Zoom", "Focus"),
        ("CTO", "Color"),
        ("ColorAdd_Lime", "Color"),  # a name of somebody's own in a family of the standard
        ("Confetti", "Control"),
        ("", "Control"),
        ("Dimmer\x1b[2J", "Control"),
    ],
)
def test_what_the_annex_does_not_list_goes_with_its_family_or_to_control(
    attribute: str, group: str
) -> None:
    assert feature_group(attribute) == group
