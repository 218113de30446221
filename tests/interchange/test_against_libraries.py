"""Rigs and fixture types as pymvr 1.0.7 and pygdtf 1.4.5 read them: channel by channel.

Both libraries are outside readers of MVR 1.6 (DIN SPEC 15801) and GDTF 1.2 (DIN SPEC 15800); the
product reads the XML itself. The generated rigs keep to what both libraries read as the standard
says it; the last tests show where they do not.
"""

import io
import random
from decimal import Decimal

import pygdtf
import pymvr
import pytest

from showvault.interchange.rig import FixtureTypeReader, RigReader
from tests.interchange.rigs import address, channel, fixture, fixture_type, rig, uid

SEEDS = range(8)
ATTRIBUTES = [
    *("Dimmer", "Pan", "Tilt", "Zoom", "Iris", "ColorAdd_R", "ColorAdd_G", "ColorAdd_B", "CTO"),
    *("Gobo1", "Gobo1Pos", "Shutter1", "Prism1", "Focus1", "Frost1", "Control1", "Control2"),
]


def value(draw, slots):
    return f"{draw.randrange(256**slots)}/{slots}"


def functions(draw, attribute, slots):
    """Return one to four functions, as the standard wants them: from 0 up, each with its limits."""
    count = draw.choice([1, 1, 2, 4])
    starts = [0, *sorted(draw.sample(range(1, 256**slots), count - 1))]
    return "".join(
        f'<ChannelFunction Name="{attribute} {n}" Attribute="{attribute}" DMXFrom="{start}/{slots}"'
        f' Default="{value(draw, slots)}" PhysicalFrom="{draw.randint(-540, -1)}"'
        f' PhysicalTo="{draw.randint(1, 540)}.500000"/>'
        for n, start in enumerate(starts, 1)
    )


def one_channel(draw, attribute, offsets, break_, geometry="Body"):
    slots = max(1, len(offsets))
    more = {"Highlight": draw.choice(["None", value(draw, slots)])}
    if draw.random() < 0.7:
        more["InitialFunction"] = f"{geometry}_{attribute}.{attribute}.{attribute} 1"
    else:
        more["Default"] = value(draw, slots)
    text = ",".join(map(str, offsets)) or "None"
    found = channel(
        text, attribute, functions(draw, attribute, slots), geometry, DMXBreak=str(break_), **more
    )
    return found.replace(
        "<LogicalChannel ", f'<LogicalChannel Snap="{draw.choice(["No", "Yes"])}" '
    )


def swell(draw):
    """Return a fixture type with a mode of one or two breaks, one to three slots a channel."""
    channels, free = [], {1: 1, 2: 1}
    for attribute in draw.sample(ATTRIBUTES, draw.randint(3, 12)):
        break_ = draw.choice([1, 1, 1, 2])
        slots = draw.choice([0, 1, 1, 2, 3])
        channels.append(
            one_channel(draw, attribute, range(free[break_], free[break_] + slots), break_)
        )
        free[break_] += slots
    draw.shuffle(channels)
    return fixture_type(*channels)


def with_references(draw):
    """Return a fixture type that repeats a pixel of three channels at several places."""
    count = draw.randint(2, 6)
    references = "".join(
        f'<GeometryReference Name="Cell {n}" Geometry="Pixel">'
        f'<Break DMXBreak="1" DMXOffset="{4 + 3 * n}"/></GeometryReference>'
        for n in range(count)
    )
    return fixture_type(
        one_channel(draw, "Pan", [1, 2], 1),
        one_channel(draw, "Zoom", [3], 1),
        *(one_channel(draw, f"ColorAdd_{c}", [n], 1, "Pixel") for n, c in enumerate("RGB", 1)),
        geometries=f'<Geometry Name="Body">{references}</Geometry><Geometry Name="Pixel"/>',
    )


def percent(dmx, slots):
    return round(Decimal(dmx.value * 100) / (256**slots - 1), 6)


def as_the_library_reads_it(found):
    """Return what a show would say of a channel of pygdtf's."""
    slots = len(found.offset or []) or found.default.byte_count
    logical = found.logical_channels[0]
    default = found.default
    if found.initial_function is None and not found._has_default_attr:
        default = logical.channel_functions[0].default
    listed = sorted(logical.channel_functions, key=lambda f: f.dmx_from.value)
    return {
        "attribute": str(found.attribute),
        "slots": list(found.offset or []),
        "break": found.dmx_break,
        "default": percent(default, slots),
        "highlight": None if found.highlight is None else percent(found.highlight, slots),
        "snap": str(logical.snap) == "Yes",
        "functions": [
            (f.name, percent(f.dmx_from, slots), f.physical_from.value, f.physical_to.value)
            for f in listed
        ],
    }


def as_the_show_says_it(found):
    if "functions" in found:
        listed = [(f["name"], f["from"], *map(float, f["physical"])) for f in found["functions"]]
    else:
        listed = [(f"{found['attribute']} 1", 0, *map(float, found["range"]))]
    return {
        "attribute": found["attribute"],
        "slots": found["slots"],
        "break": found.get("break", 1),
        "default": found.get("default", 0),
        "highlight": found.get("highlight"),
        "snap": found.get("snap", False),
        "functions": listed,
    }


def channels_of_library(data):
    (mode,) = pygdtf.FixtureType(io.BytesIO(data)).dmx_modes
    return [as_the_library_reads_it(c) for c in (*mode.dmx_channels, *mode.virtual_channels)]


def by_place(channels):
    """Virtual channels have no order of their own."""
    return sorted(channels, key=lambda c: (not c["slots"], c["break"], c["slots"], c["attribute"]))


@pytest.mark.parametrize("seed", SEEDS)
def test_a_mode_has_the_channels_that_the_library_reads(seed):
    data = swell(random.Random(seed))
    (kind,) = FixtureTypeReader().read(data, {}).show["fixture_types"].values()
    ours = [as_the_show_says_it(c) for c in kind["modes"]["Basic"]["channels"]]
    assert by_place(ours) == by_place(channels_of_library(data))


@pytest.mark.parametrize("seed", SEEDS)
def test_repeated_geometries_have_the_channels_that_the_library_reads(seed):
    data = with_references(random.Random(seed))
    (kind,) = FixtureTypeReader().read(data, {}).show["fixture_types"].values()
    mode = kind["modes"]["Basic"]
    places = [mode, *mode["cells"].values()]
    ours = [as_the_show_says_it(c) for place in places for c in place["channels"]]
    assert by_place(ours) == by_place(channels_of_library(data))


def inside_of(draw):
    """Return what stands in a fixture's node: its place, unit, purpose, addresses."""
    first = draw.choice(
        [str(draw.randint(1, 40_000)), f"{draw.randint(1, 9)}.{draw.randint(1, 512)}"]
    )
    addresses = address(first, break_=0)
    if draw.random() < 0.3:
        second = f'<Address break="1">{draw.randint(1, 9)}.{draw.randint(1, 512)}</Address>'
        addresses = addresses.replace("</Addresses>", f"{second}</Addresses>")
    invert = draw.choice(["", "<DMXInvertPan>true</DMXInvertPan>"])
    return (
        f"<Position>{uid(5000 + draw.randrange(3))}</Position>{addresses}{invert}"
        f"<UnitNumber>{draw.randint(1, 60)}</UnitNumber><Function>{draw.choice('ABC')}</Function>"
        f"<Matrix>{{1,0,0}}{{0,1,0}}{{0,0,1}}{{{draw.randint(-9000, 9000)}.25,0,6000}}</Matrix>"
    )


def hung(draw, seed):
    """Return a rig with fixtures in the layer, in a group, and on a truss in a group."""
    numbers = draw.sample(range(1, 3000), 40)
    made = [
        fixture(n, inside_of(draw), spec=f"Swell{draw.randrange(3)}.gdtf", name=f"Unit {n} é")
        for n in numbers
    ]
    truss = f'<Truss uuid="{uid(9001)}"><ChildList>{"".join(made[20:30])}</ChildList></Truss>'
    inside = "".join(made[30:]) + truss
    group = f'<GroupObject uuid="{uid(9002)}"><ChildList>{inside}</ChildList></GroupObject>'
    aux = "".join(f'<Position uuid="{uid(5000 + n)}" name="Bridge {n}"/>' for n in range(3))
    types = {f"Swell{n}": swell(random.Random(seed * 10 + n)) for n in range(3)}
    return rig(*made[:20], group, aux=aux, **types), types


def fixtures_of_library(child_list):
    yield from child_list.fixtures
    for holder in (*child_list.group_objects, *child_list.trusses):
        if holder.child_list is not None:
            yield from fixtures_of_library(holder.child_list)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_rig_has_the_patch_that_the_library_reads(seed):
    data, types = hung(random.Random(seed), seed)
    show = RigReader().read(data, {}).show
    with pymvr.GeneralSceneDescription(io.BytesIO(data)) as opened:
        places = {p.uuid: p.name for p in opened.scene.aux_data.positions}
        (layer,) = opened.scene.layers
        theirs = {
            str(f.fixture_id_numeric): {
                "name": f.name,
                "type": f.gdtf_spec.removesuffix(".gdtf"),
                "mode": f.gdtf_mode,
                "addresses": [
                    (a.dmx_break + 1, a.universe, a.address) for a in f.addresses.addresses
                ],
                "position": places[f.position],
                "unit_number": str(f.unit_number),
                "purpose": f.function_,
                "invert": ["Pan"] if f.dmx_invert_pan else [],
                "uuid": f.uuid,
                "matrix": [n for row in f.matrix.matrix for n in row[:3]],
            }
            for f in fixtures_of_library(layer.child_list)
        }
    assert {number: said_of(found) for number, found in show["patch"].items()} == theirs
    assert len(theirs) == 40
    for name, kind in types.items():
        ours = show["fixture_types"][name]["modes"]["Basic"]["channels"]
        assert by_place(map(as_the_show_says_it, ours)) == by_place(channels_of_library(kind))


def said_of(found):
    kept = found["extra"]["mvr"]
    return {
        **{name: found[name] for name in ("name", "type", "mode", "position", "unit_number")},
        "purpose": found["purpose"],
        "addresses": [(a.get("break", 1), a["universe"], a["address"]) for a in found["addresses"]],
        "invert": found.get("invert", []),
        "uuid": kept["uuid"],
        "matrix": list(map(float, kept["matrix"])),
    }


def opened_fixture(*inside, **more):
    with pymvr.GeneralSceneDescription(io.BytesIO(rig(fixture(1, *inside, **more)))) as opened:
        return opened.scene.layers[0].child_list.fixtures[0]


def test_the_library_takes_address_0_for_universe_1_address_1():
    (found,) = opened_fixture(address("0")).addresses.addresses
    assert (found.universe, found.address) == (1, 1)


def test_the_library_takes_an_address_beyond_the_universe():
    (found,) = opened_fixture(address("1.600")).addresses.addresses
    assert found.address == 600


def test_the_library_stops_at_a_number_that_cannot_be_read():
    with pytest.raises(ValueError, match="four"):
        opened_fixture("<UnitNumber>four</UnitNumber>")


def test_the_library_gives_a_name_beyond_ascii_in_another_encoding():
    assert opened_fixture(spec="Wöge.gdtf").gdtf_spec != "Wöge.gdtf"


def read_channel(*found):
    mode = pygdtf.FixtureType(io.BytesIO(fixture_type(*found))).dmx_modes[0]
    return mode.dmx_channels[0]


@pytest.mark.parametrize("text", ["bogus", "1", "-1/1"])
def test_the_library_takes_what_is_no_dmx_value_for_0_or_less(text):
    assert read_channel(channel("1", "Dimmer", Default=text)).default.value <= 0


def test_the_library_neither_widens_nor_shifts_a_dmx_value():
    """GDTF Table 1: 255/1 is 65535 in two slots, and 255/1s is 65280."""
    for text in ("255/1", "255/1s"):
        assert read_channel(channel("1,2", "Dimmer", Default=text)).default.value == 255


def test_the_library_makes_up_channels_where_a_slot_is_left_out():
    data = fixture_type(channel("1", "Pan"), channel("4", "Dimmer"))
    found = pygdtf.FixtureType(io.BytesIO(data)).dmx_modes[0].dmx_channels
    assert [str(c.attribute) for c in found] == ["Pan", "NoFeature", "NoFeature", "Dimmer"]
