"""What a preset holds for a fixture. The order is common practice without a published source."""

from msgspec import convert

from showvault.look.presets import held_level, preset_named
from showvault.show.model import Preset
from showvault.show.reading import decode_show
from tests.builders import a_rig, as_bytes

PRESET = convert(
    {
        "all": {"ColorAdd_B": 1, "ColorAdd_G": 2, "ColorAdd_R": 3},
        "types": {"wash": {"ColorAdd_G": 60, "ColorAdd_R": 70}},
        "levels": {"101": {"ColorAdd_R": 62.5}},
    },
    Preset,
)


def test_a_fixture_takes_its_own_value_before_its_types_and_the_one_for_all():
    assert held_level(PRESET, "101", "wash", "ColorAdd_R") == 62_500_000
    assert held_level(PRESET, "101", "wash", "ColorAdd_G") == 60_000_000
    assert held_level(PRESET, "101", "wash", "ColorAdd_B") == 1_000_000


def test_a_fixture_outside_the_patch_takes_the_value_for_all():
    assert held_level(PRESET, "999", "", "ColorAdd_G") == 2_000_000


def test_a_cell_does_not_take_the_value_of_its_fixture():
    assert held_level(PRESET, "101.1", "wash", "ColorAdd_R") == 70_000_000


def test_a_preset_that_says_nothing_of_an_attribute_holds_nothing():
    assert held_level(PRESET, "101", "wash", "Pan") is None
    assert held_level(None, "101", "wash", "Pan") is None


def test_a_reference_that_leads_nowhere_names_no_preset():
    show = decode_show(as_bytes(a_rig(presets={"Color": {"1.3": {"name": "Amber"}}})))
    assert preset_named(show, "Color 1.3").name == "Amber"
    assert preset_named(show, "Color 1.4") is None
    assert preset_named(show, "Gobo 1.3") is None
