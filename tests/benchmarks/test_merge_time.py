"""How long merging takes beside reading: three shows of 40 MB with 40 edits a side.

Counted in processor time: others may be at work on the machine. The clock's time is printed too.

Run by hand: pytest tests/benchmarks/test_merge_time.py -s
"""

import time
from typing import NamedTuple

from showvault.flows.combine import Input, combine
from showvault.merge.conflicts import leave_open
from showvault.merge.merger import merge_shows, write_merged
from showvault.show.cutting import cut_into_parts
from showvault.show.parts import parts_of
from showvault.show.reading import decode_show
from tests.benchmarks.generated import as_bytes, edit, make_show

TIMES = 3


class Spent(NamedTuple):
    """Seconds of the processor and of the clock."""

    processor: float
    clock: float

    def __str__(self) -> str:
        return f"{self.processor:.2f} s ({self.clock:.2f} s by the clock)"


ZERO = Spent(0, 0)


def spent(since: Spent = ZERO) -> Spent:
    return Spent(time.process_time() - since.processor, time.perf_counter() - since.clock)


def test_merging_takes_at_most_three_times_reading_the_three_shows(tmp_path):
    base = make_show(40)
    paths = []
    for number, show in enumerate((base, edit(base, 40, seed=2), edit(base, 40, seed=3))):
        paths.append(tmp_path / f"{number}.json")
        paths[-1].write_bytes(as_bytes(show))
    reading, merging, telling = [], [], []
    for _ in range(3):
        start = spent()
        data = [path.read_bytes() for path in paths]
        for one in data:
            decode_show(one)
        reading.append(spent(start))
        start = spent()
        data = [path.read_bytes() for path in paths]
        cuts = [cut for one in data if (cut := cut_into_parts(one)) is not None]
        one, other, third = map(parts_of, cuts)
        merged = merge_shows(one, other, third)
        written = write_merged(cuts[1], merged)
        merging.append(spent(start))
        start = spent()
        inputs = [Input(path.name, path.read_bytes()) for path in paths]
        combined = combine(inputs[0], inputs[1], inputs[2], leave_open)
        telling.append(spent(start))
        assert combined.data == written
    print(
        f"\nreading three {min(reading)}, merging {min(merging)}, "
        f"merging, checking and telling {min(telling)}"
    )
    assert min(merging).processor <= TIMES * min(reading).processor
    assert min(telling).processor <= TIMES * min(reading).processor
