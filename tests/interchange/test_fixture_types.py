"""Fixture types from GDTF 1.2 (DIN SPEC 15800:2022-02); tests name its tables."""

from decimal import Decimal

import pytest

from showvault.interchange.allowance import Allowance
from showvault.interchange.fixture_types import read_fixture_type
from showvault.interchange.gdtf_values import widen
from showvault.interchange.loss_book import LossBook
from showvault.interchange.reader import CannotReadError
from showvault.interchange.rig import FixtureTypeReader
from showvault.show.reading import find_faults
from showvault.show.writing import write_show
from tests.interchange.rigs import channel, fixture_type, packed


def read(data, wanted=None):
    book = LossBook()
    made = read_fixture_type(data, wanted, book, "fixture type Swell", Allowance())
    show = {"format": "neutral-show", "format_version": 1, "fixture_types": {"Swell": made}}
    assert find_faults(write_show(show)) == []
    return made, {loss.what: loss.count for loss in book.losses()}


def channels(*found, mode="Basic", **more):
    return read(fixture_type(*found, **more))[0]["modes"][mode]["channels"]


def function(name, attribute="Dimmer", **attributes):
    more = "".join(f' {key}="{value}"' for key, value in attributes.items())
    return f'<ChannelFunction Name="{name}" Attribute="{attribute}"{more}/>'


@pytest.mark.parametrize(
    "text, slots, value",
    [
        ("255/1", 2, 65535),
        ("255/1s", 2, 65280),
        ("128/1", 2, 0x8080),
        ("128/1s", 2, 32768),
        ("32768/2", 2, 32768),
        ("32768/2", 1, 128),
        ("255/1", 3, 0xFFFFFF),
        ("0/1", 1, 0),
    ],
)
def test_a_dmx_value_is_widened_by_mirroring_or_by_shift(text, slots, value):
    """GDTF Table 1 (attribute value type DMXValue)."""
    assert widen(text, slots) == value


@pytest.mark.parametrize("text", ["bogus", "1", "300/1", "-1/1", "", "255/0", "255/9", "1/1/1"])
def test_what_is_no_dmx_value_is_not_taken_for_0(text):
    """pygdtf reads each of these as 0 or beyond the range; that is the trap."""
    assert widen(text, 1) is None


def test_slots_are_most_significant_first():
    """GDTF Table 58, Offset."""
    (pan,) = channels(channel("7,8", "Pan"))
    assert pan["slots"] == [7, 8]


def test_a_channel_without_offset_is_virtual():
    """GDTF Table 58, Offset "None"."""
    found = channels(channel("1", "Pan"), channel("None", "Dimmer"))
    assert [c["slots"] for c in found if c["attribute"] == "Dimmer"] == [[]]


def test_a_break_beyond_the_first_is_kept():
    """GDTF Table 58, DMXBreak, default 1."""
    found = channels(channel("1", "Dimmer"), channel("1", "Pan", DMXBreak="2"))
    assert [(c["attribute"], c.get("break", 1)) for c in found] == [("Dimmer", 1), ("Pan", 2)]


def test_the_default_of_the_initial_function_counts():
    """GDTF Table 60: since 1.1 the default is on the channel function."""
    functions = function("A", Default="51/1") + function("B", DMXFrom="128/1", Default="204/1")
    (dimmer,) = channels(
        channel("1", "Dimmer", functions, InitialFunction="Body_Dimmer.Dimmer.B", Default="1/1")
    )
    assert dimmer["default"] == 80


def test_a_default_on_the_channel_counts_where_no_function_has_one():
    """GDTF 1.0 and the specification's own Listing 1: default on DMXChannel."""
    (dimmer,) = channels(channel("1,2", "Dimmer", function("A"), Default="255/1"))
    assert dimmer["default"] == 100


def test_a_default_on_the_first_function_counts_where_nothing_else_is_said():
    (dimmer,) = channels(channel("1", "Dimmer", function("A", Default="51/1")))
    assert dimmer["default"] == 20


def test_highlight_is_a_level_or_none():
    """GDTF Table 58, Highlight: a DMX value or "None"."""
    found = channels(
        channel("1", "Dimmer", Highlight="255/1"), channel("2", "Pan", Highlight="None")
    )
    assert [c.get("highlight") for c in found] == [100, None]


@pytest.mark.parametrize(
    "snap, expected", [("Yes", True), ("On", True), ("No", None), ("Off", None)]
)
def test_snap_is_read(snap, expected):
    """GDTF Table 59, Snap: Yes, No, On, Off."""
    node = channel("1", "Shutter1").replace("<LogicalChannel ", f'<LogicalChannel Snap="{snap}" ')
    assert channels(node)[0].get("snap") == expected


def test_physical_values_of_the_one_function_are_the_range():
    """GDTF Table 60, PhysicalFrom and PhysicalTo; the unit is that of the attribute (Angle)."""
    (pan,) = channels(
        channel("1,2", "Pan", function("Pan", "Pan", PhysicalFrom="-270", PhysicalTo="270.5"))
    )
    assert (pan["range"], pan["unit"]) == ([-270, Decimal("270.5")], "deg")


def test_a_function_ends_where_the_next_begins():
    """GDTF Table 60, DMXFrom: a function ends one below the next."""
    functions = (
        function("Open", "Shutter1", DMXFrom="204/1")
        + function("Closed", "Shutter1")
        + function("Strobe", "Shutter1Strobe", DMXFrom="51/1", PhysicalFrom="1", PhysicalTo="20")
    )
    (shutter,) = channels(channel("1", "Shutter1", functions))
    assert shutter["functions"] == [
        {"name": "Closed", "from": 0, "to": 20},
        {"name": "Strobe", "from": 20, "to": 80, "physical": [1, 20]},
        {"name": "Open", "from": 80, "to": 100},
    ]


def test_geometries_that_are_referred_to_several_times_are_cells():
    """GDTF Tables 49 and 58: a reference moves the offsets of its channels; "Overwrite" takes the
    break of the reference."""
    references = "".join(
        f'<GeometryReference Name="Cell {n}" Geometry="Pixel">'
        f'<Break DMXBreak="1" DMXOffset="{offset}"/></GeometryReference>'
        for n, offset in ((1, 2), (2, 5))
    )
    geometries = f'<Geometry Name="Body">{references}</Geometry><Geometry Name="Pixel"/>'
    data = fixture_type(
        channel("1", "Pan"),
        channel("1", "ColorAdd_R", geometry="Pixel", DMXBreak="Overwrite"),
        channel("2", "ColorAdd_G", geometry="Pixel", DMXBreak="Overwrite"),
        geometries=geometries,
    )
    mode = read(data)[0]["modes"]["Basic"]
    assert [c["slots"] for c in mode["channels"]] == [[1]]
    assert {
        cell: [(c["attribute"], c["slots"]) for c in found["channels"]]
        for cell, found in mode["cells"].items()
    } == {
        "1": [("ColorAdd_R", [2]), ("ColorAdd_G", [3])],
        "2": [("ColorAdd_R", [5]), ("ColorAdd_G", [6])],
    }


def test_an_overwritten_break_is_the_last_one_of_the_reference():
    """GDTF Table 58, DMXBreak "Overwrite"; pygdtf 1.4.5 reads break 1 here, that is the trap."""
    reference = (
        '<GeometryReference Name="Cell" Geometry="Pixel"><Break DMXBreak="1" DMXOffset="3"/>'
        '<Break DMXBreak="2" DMXOffset="7"/></GeometryReference>'
    )
    found = channels(
        channel("1", "Pan"),
        channel("1", "Tilt", geometry="Pixel"),
        channel("1,2", "Dimmer", geometry="Pixel", DMXBreak="Overwrite"),
        geometries=f'<Geometry Name="Body">{reference}</Geometry><Geometry Name="Pixel"/>',
    )
    assert {c["attribute"]: (c.get("break", 1), c["slots"]) for c in found} == {
        "Pan": (1, [1]),
        "Tilt": (1, [3]),
        "Dimmer": (2, [7, 8]),
    }


def test_more_repeated_channels_than_any_fixture_has_are_refused():
    references = '<GeometryReference Name="Cell" Geometry="Pixel"/>' * 9000
    repeated = [channel("1", f"Control{n}", geometry="Pixel") for n in range(60)]
    data = fixture_type(
        *repeated,
        geometries=f'<Geometry Name="Body">{references}</Geometry><Geometry Name="Pixel"/>',
    )
    with pytest.raises(CannotReadError, match="more channels than any rig"):
        read(data)


def test_an_attribute_on_several_geometries_gives_cells():
    geometries = '<Geometry Name="Body"><Geometry Name="L"/><Geometry Name="R"/></Geometry>'
    data = fixture_type(
        channel("1", "Pan"),
        channel("2", "Dimmer", geometry="L"),
        channel("3", "Dimmer", geometry="R"),
        geometries=geometries,
    )
    mode = read(data)[0]["modes"]["Basic"]
    assert [c["attribute"] for c in mode["channels"]] == ["Pan"]
    assert [mode["cells"][n]["channels"][0]["slots"] for n in "12"] == [[2], [3]]


def test_values_that_cannot_be_read_are_told_and_not_taken_for_0():
    made, losses = read(fixture_type(channel("1", "Dimmer", Default="bogus", Highlight="300/1")))
    assert made["modes"]["Basic"]["channels"] == [{"attribute": "Dimmer", "slots": [1]}]
    assert losses == {"DMX values that cannot be read": 2}


@pytest.mark.parametrize("offset", ["999999999", "0", "-1", "x", "1,2,3,4,5", "513"])
def test_an_offset_that_cannot_be_is_told_and_costs_no_memory(offset):
    made, losses = read(fixture_type(channel("1", "Pan"), channel(offset, "Dimmer")))
    assert [c["attribute"] for c in made["modes"]["Basic"]["channels"]] == ["Pan"]
    assert losses == {"channels with an offset or break that cannot be": 1}


@pytest.mark.parametrize("break_", ["999999999", "0", "x"])
def test_a_break_that_cannot_be_is_told(break_):
    _, losses = read(fixture_type(channel("1", "Pan"), channel("2", "Dimmer", DMXBreak=break_)))
    assert losses == {"channels with an offset or break that cannot be": 1}


def test_slots_that_a_file_leaves_out_are_not_made_up():
    """pygdtf fills such gaps with channels of its own; that is the trap."""
    assert [c["slots"] for c in channels(channel("1", "Pan"), channel("9", "Dimmer"))] == [[1], [9]]


def test_a_channel_on_a_geometry_that_is_not_there_is_told():
    data = fixture_type(
        channel("1", "Pan"),
        channel("2", "Dimmer", geometry="Lost"),
        geometries='<Geometry Name="Body"/><Geometry Name="Other"/>',
    )
    assert read(data)[1] == {"channels on a geometry that is not there": 1}


def test_only_the_wanted_modes_are_read_and_the_others_are_told():
    more = '<DMXMode Name="Wide" Geometry="Body"><DMXChannels/></DMXMode>'
    made, losses = read(fixture_type(channel("1", "Dimmer"), more_modes=more), ["Basic"])
    assert (list(made["modes"]), losses) == (["Basic"], {"modes that no fixture uses": 1})


def test_hazards_follow_from_the_attributes():
    made, _ = read(fixture_type(channel("1", "Pan"), channel("2", "Shutter1Strobe")))
    assert made["hazards"] == ["moving", "strobe"]


@pytest.mark.parametrize("value", ["1e300", "nan", "inf", "x", ""])
def test_a_physical_value_that_cannot_be_is_told_and_stands_for_none(value):
    made, losses = read(fixture_type(channel("1", "Pan", function("Pan", "Pan", PhysicalTo=value))))
    assert made["modes"]["Basic"]["channels"] == [{"attribute": "Pan", "slots": [1]}]
    assert losses == {"physical values that cannot be read": 1}


def test_what_a_channel_and_its_functions_say_beyond_a_show_is_told():
    """GDTF Tables 59 to 61: what stands in a file and not in a show; usual values say nothing."""
    functions = function("A", Wheel="Wheel 1", RealFade="0.000000", Default="0/1").replace(
        "/>", '><ChannelSet Name="Open"/></ChannelFunction>'
    ) + function("B", DMXFrom="128/1", Default="200/1")
    node = channel("1", "Dimmer", functions).replace(
        "<LogicalChannel ", '<LogicalChannel Master="Grand" MibFade="0.000000" '
    )
    _, losses = read(fixture_type(node))
    assert losses == {
        "Master of channels": 1,
        "Wheel of functions": 1,
        "sets inside functions": 1,
        "defaults of further functions": 1,
    }


def test_a_channel_without_an_attribute_is_told_and_does_nothing():
    """GDTF Table 60: NoFeature."""
    node = '<DMXChannel Offset="1" Geometry="Body"/>'
    made, losses = read(fixture_type(node))
    assert made["modes"]["Basic"]["channels"] == [{"attribute": "NoFeature", "slots": [1]}]
    assert losses == {"channels without an attribute": 1}


def test_a_second_mode_of_one_name_is_told():
    """GDTF Table 56: the name of a mode is unique."""
    more = '<DMXMode Name="Basic" Geometry="Body"><DMXChannels/></DMXMode>'
    made, losses = read(fixture_type(channel("1", "Dimmer"), more_modes=more))
    assert made["modes"]["Basic"]["channels"] and losses == {"modes whose name is taken": 1}


@pytest.mark.parametrize(
    "description", ["<GDTF/>", "<GDTF><FixtureType/></GDTF>", "<html/>", "", "<GDTF>"]
)
def test_a_file_that_is_no_fixture_type_is_an_error_for_people_or_an_empty_one(description):
    try:
        made, _ = read(packed({"description.xml": description}))
    except CannotReadError:
        return
    assert made == {"modes": {}}


def test_a_fixture_type_file_alone_is_read_with_all_its_modes():
    more = '<DMXMode Name="Wide" Geometry="Body"><DMXChannels/></DMXMode>'
    data = fixture_type(channel("1", "Dimmer"), more_modes=more)
    show = FixtureTypeReader().read(data, {}).show
    assert sorted(show["fixture_types"]["Bench Swell"]["modes"]) == ["Basic", "Wide"]
