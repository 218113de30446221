"""How fast files of the open formats are read, as ratios within one run.

Not part of the normal run: ``pytest tests/benchmarks/test_interchange.py -s``.
"""

import random
import time

from showvault.interchange.ascii_cues import AsciiReader


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
        for channel in range(1, channels + 1):
            pair = f" {channel}@{draw.randrange(101)}"
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
