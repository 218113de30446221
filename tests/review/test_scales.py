"""The unit in which a level is said: the range of the fixture type's channel."""

from decimal import Decimal

from showvault.review.scales import scales_of
from showvault.review.values import Scale
from showvault.show.parts import parts_of_file
from showvault.show.writing import write_show
from tests.builders import a_channel, a_fixture, a_rig, a_show, a_type


def test_a_range_with_a_unit_is_the_scale_of_the_attribute():
    scales = scales_of(parts_of_file(write_show(a_rig())))
    assert scales("101", "Pan") == Scale(Decimal(-270), Decimal(270), "deg")


def test_an_attribute_without_a_range_has_no_scale():
    scales = scales_of(parts_of_file(write_show(a_rig())))
    assert scales("101", "Dimmer") is None
    assert scales("999", "Pan") is None


def test_a_cell_has_the_scale_of_its_own_channel():
    tilt = a_channel("Tilt", 1, range=[0, 90], unit="deg")
    bar = a_type(a_channel("Dimmer", 2), cells={"2": [tilt]})
    show = a_show(fixture_types={"bar": bar}, patch={"7": a_fixture("bar")})
    scales = scales_of(parts_of_file(write_show(show)))
    assert scales("7.2", "Tilt") == Scale(Decimal(0), Decimal(90), "deg")
    assert scales("7", "Tilt") is None


def test_what_is_not_understood_has_no_scale():
    show = a_show(fixture_types={"bar": 5}, patch={"7": {"type": ["bar"], "mode": 1}})
    assert scales_of(parts_of_file(write_show(show)))("7", "Pan") is None
