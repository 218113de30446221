"""How fast files of the open formats are read, as ratios within one run.

Not part of the normal run: ``pytest tests/benchmarks/test_interchange.py``. The aims: ASCII cue
data at no less than a third of the speed of splitting its lines, a rig in at most four times what
unzipping and parsing its XML costs. Asserted is that everything was read, never a time.
"""

import io
import random
import time
import zipfile
from xml.etree import ElementTree

import pytest

from showvault.interchange.ascii_cues import AsciiReader
from showvault.interchange.rig import RigReader
from tests.benchmarks.measuring import settle
from tests.interchange.rigs import address, channel, fixture, fixture_type, rig, uid


def processor_seconds(work):
    """Return what one call took of the processor: nothing here waits for a disk."""
    start = time.process_time()
    work()
    return time.process_time() - start


def best_in_turn(times, *works):
    """Return the shortest of several runs of each, in seconds of the processor; taken in turn, so
    that a busy machine slows them all alike."""
    settle()
    found = [[processor_seconds(work) for work in works] for _ in range(times)]
    return [min(column) for column in zip(*found, strict=True)]


def ascii_export(cues, channels):
    draw = random.Random(8)
    lines = ["IDENT 3:0", "CLEAR ALL"]
    for cue in range(1, cues + 1):
        lines += [f"CUE {cue}", f"TEXT Cue {cue}", "UP 3", "DOWN 5"]
        line = "CHAN"
        for number in range(1, channels + 1):
            pair = f" {number}@{draw.randrange(101)}"
            if len(line) + len(pair) > 80:
                lines.append(line)
                line = "CHAN"
            line += pair
        lines.append(line)
    return "\r\n".join([*lines, "ENDDATA", ""]).encode()


def test_an_export_of_10000_cues_beside_splitting_its_lines(tell):
    data = ascii_export(cues=10_000, channels=200)
    splitting, reading, judging = best_in_turn(
        3,
        lambda: [line.split() for line in data.decode().splitlines()],
        lambda: AsciiReader().read(data, {}),
        lambda: AsciiReader().judge(data),
    )
    tell(
        f"ASCII, 10,000 cues × 200 channels, {len(data) / 1e6:.1f} MB: splitting its lines 1, "
        f"reading to a neutral show {reading / splitting:.2f} (aim 3), "
        f"judging {judging / splitting:.4f} ({splitting:.2f} s, {reading:.2f} s)"
    )
    cues = AsciiReader().read(data, {}).show["cue_lists"]["1"]["cues"]
    assert len(cues) == 10_000 and all(len(cue["levels"]) == 200 for cue in cues.values())


def unpacked_and_parsed(data):
    """Do what nobody can spare who opens a rig: unzip everything, parse every XML."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        for name in archive.namelist():
            inner = archive.read(name)
            if name.endswith(".gdtf"):
                with zipfile.ZipFile(io.BytesIO(inner)) as fixture_archive:
                    inner = fixture_archive.read("description.xml")
            ElementTree.fromstring(inner)


def swell(draw, channels, functions):
    """Return a fixture type; real ones describe every range of a channel."""
    made = []
    for n in range(channels):
        name = f"Control{n + 1}"
        listed = "".join(
            f'<ChannelFunction Name="F{f}" Attribute="{name}" DMXFrom="{65536 * f // functions}/2" '
            f'Default="0/2" PhysicalFrom="{draw.randint(-99, 0)}.000000" '
            f'PhysicalTo="{draw.randint(1, 99)}.000000" RealFade="0.000000"/>'
            for f in range(functions)
        )
        made.append(channel(f"{2 * n + 1},{2 * n + 2}", name, listed, Highlight="65535/2"))
    return fixture_type(*made)


def hung(draw, number):
    """Return what a planning program writes of a fixture; every place in space is another one."""
    place = ",".join(f"{draw.uniform(-20_000, 20_000):.6f}" for _ in range(3))
    inside = (
        f"<Position>{uid(5000 + number % 9)}</Position><UnitNumber>{number % 40 + 1}</UnitNumber>"
        f"<Classing>{uid(6000)}</Classing><CastShadow>false</CastShadow><Function>wash</Function>"
        "<CustomId>0</CustomId><Matrix>{1.000000,0.000000,0.000000}{0.000000,1.000000,0.000000}"
        f"{{0.000000,0.000000,1.000000}}{{{place}}}</Matrix>"
    )
    return fixture(number, inside + address(str(80 * number)), spec=f"Swell{number % 10}.gdtf")


@pytest.mark.parametrize("functions", [1, 6])
def test_a_rig_of_2000_fixtures_beside_unzipping_and_parsing(tell, functions):
    draw = random.Random(8)
    aux = f'<Class uuid="{uid(6000)}" name="Wash"/>' + "".join(
        f'<Position uuid="{uid(5000 + n)}" name="Bridge {n}"/>' for n in range(9)
    )
    types = {f"Swell{n}": swell(draw, channels=40, functions=functions) for n in range(10)}
    data = rig(*(hung(draw, n) for n in range(1, 2001)), aux=aux, **types)
    parsing, reading = best_in_turn(
        9, lambda: unpacked_and_parsed(data), lambda: RigReader().read(data, {})
    )
    tell(
        f"MVR, 2,000 fixtures of 10 types with {functions} functions a channel: unzipping and "
        f"parsing 1, reading to a neutral show {reading / parsing:.1f} (aim 4; "
        f"{parsing:.3f} s, {reading:.3f} s)"
    )
    result = RigReader().read(data, {})
    assert len(result.show["patch"]) == 2000
    assert all(len(f["addresses"]) == 1 for f in result.show["patch"].values())
    assert len(result.show["fixture_types"]) == 10
