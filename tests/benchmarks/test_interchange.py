"""How fast files of the open formats are read, as ratios within one run.

Not part of the normal run: ``pytest tests/benchmarks/test_interchange.py -s``.
"""

import io
import random
import time
import zipfile
from xml.etree import ElementTree

from showvault.interchange.ascii_cues import AsciiReader
from showvault.interchange.rig import RigReader
from tests.interchange.rigs import address, channel, fixture, fixture_type, rig, uid


def best_of(times, work):
    """Return the shortest of several runs, in seconds."""
    found = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return min(found)


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


def test_an_export_of_10000_cues_reads_at_a_third_of_the_speed_of_splitting_its_lines():
    data = ascii_export(cues=10_000, channels=200)
    splitting = best_of(3, lambda: [line.split() for line in data.decode().splitlines()])
    reading = best_of(3, lambda: AsciiReader().read(data, {}))
    judging = best_of(3, lambda: AsciiReader().judge(data))
    print(
        f"\nASCII, 10,000 cues × 200 channels, {len(data) / 1e6:.1f} MB: splitting its lines 1, "
        f"reading to a neutral show {reading / splitting:.2f}, judging {judging / splitting:.4f} "
        f"({splitting:.2f} s, {reading:.2f} s)"
    )
    assert reading <= 3 * splitting


def unpacked_and_parsed(data):
    """Do what nobody can spare who opens a rig: unzip everything, parse every XML."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        for name in archive.namelist():
            inner = archive.read(name)
            if name.endswith(".gdtf"):
                with zipfile.ZipFile(io.BytesIO(inner)) as fixture_archive:
                    inner = fixture_archive.read("description.xml")
            ElementTree.fromstring(inner)


def test_a_rig_of_2000_fixtures_opens_in_a_few_times_what_unzipping_and_parsing_costs():
    mode = [channel(f"{2 * n + 1},{2 * n + 2}", f"Control{n + 1}") for n in range(40)]
    swell = fixture_type(*mode)
    usual = (
        f"<Position>{uid(5000)}</Position><UnitNumber>3</UnitNumber><CustomId>0</CustomId>"
        f"<Classing>{uid(5001)}</Classing><CastShadow>false</CastShadow><Function>wash</Function>"
        "<Matrix>{1.0,0.0,0.0}{0.0,1.0,0.0}{0.0,0.0,1.0}{1250.5,-400.25,6100.0}</Matrix>"
    )
    fixtures = [
        fixture(n, usual + address(str(80 * n)), spec=f"Swell{n % 10}.gdtf") for n in range(1, 2001)
    ]
    data = rig(*fixtures, **{f"Swell{n}": swell for n in range(10)})
    parsing = best_of(5, lambda: unpacked_and_parsed(data))
    reading = best_of(5, lambda: RigReader().read(data, {}))
    print(
        f"\nMVR, 2,000 fixtures of 10 types: unzipping and parsing 1, "
        f"reading to a neutral show {reading / parsing:.1f} ({parsing:.3f} s, {reading:.3f} s)"
    )
    assert reading <= 10 * parsing
