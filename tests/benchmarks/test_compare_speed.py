"""How fast two shows are compared, and in how much memory; ratios within one run.

Not part of the normal run: ``pytest tests/benchmarks/test_compare_speed.py``. The aims are those of
the ``changes`` alone, at 40 MB with 40 edits: from two files at most half of a typed parse of one
file, with the old side's parts at hand at most a quarter; 1,000 times faster than deepdiff, 20
times faster than deepdiff-rs (only where it is installed), 8 times faster than ``git diff
--no-index`` of pretty text. Cost grows with the change and the bytes read.
"""

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest

from showvault.compare.changes import Moved
from showvault.compare.differ import compare_shows
from showvault.review.summary import describe
from showvault.show.model import Show
from showvault.show.parts import parts_of_file, parts_of_files
from tests.benchmarks.generated import SIZES, as_bytes, edit, make_show, move_used_preset
from tests.benchmarks.measuring import median, seconds, settle

Tell = Callable[[str], None]
EDITS = 40
RUNS = 5

_MEMORY = """
import re, sys
from pathlib import Path
from showvault.compare.differ import compare_shows
from showvault.show.parts import parts_of_files
def peak():
    status = Path("/proc/self/status").read_text()
    return int(re.search(r"VmHWM:\\s+(\\d+)", status).group(1)) * 1024
start = peak()
one, other = (Path(name).read_bytes() for name in sys.argv[1:])
compare_shows(*parts_of_files(one, other))
print(peak() - start)
"""
"""Prints the bytes that a comparison of two files takes at its peak, the files included."""

_DEEPDIFF = """
import json, sys
from pathlib import Path
from deepdiff import DeepDiff
one, other = (json.loads(Path(name).read_bytes()) for name in sys.argv[1:])
DeepDiff(one, other)
"""


def typed_parse(data: bytes) -> object:
    return msgspec.json.Decoder(Show).decode(data)


def from_files(one: bytes, other: bytes) -> object:
    return compare_shows(*parts_of_files(one, other))


def interleaved(*works: Callable[[], object]) -> list[float]:
    """Return the median time of each, every one run in turn."""
    times: list[list[float]] = [[] for _ in works]
    for _ in range(RUNS):
        for work, found in zip(works, times, strict=True):
            settle()
            found.append(seconds(work))
    return [median(found) for found in times]


@pytest.mark.parametrize("size", SIZES)
def test_comparing_costs_a_fraction_of_a_parse(size: str, tell: Tell, tmp_path: Path) -> None:
    show = make_show(SIZES[size])
    one, other = as_bytes(show), as_bytes(edit(show, EDITS, seed=7))
    del show
    old = parts_of_file(one)
    parse, both, stored = interleaved(
        lambda: typed_parse(one),
        lambda: from_files(one, other),
        lambda: compare_shows(old, parts_of_file(other)),
    )
    memory = peak_memory(one, other, tmp_path) if sys.platform == "linux" else "not measured"
    tell(
        f"compare {size}: typed parse 1 ({parse * 1000:.1f} ms), from two files "
        f"{both / parse:.2f} ({both * 1000:.1f} ms), stored against a file {stored / parse:.2f}, "
        f"peak memory {memory}"
    )


def peak_memory(one: bytes, other: bytes, folder: Path) -> str:
    """Say how much memory a fresh process takes to compare two files, as multiples of one."""
    names = write_both(one, other, folder)
    command = [sys.executable, "-c", _MEMORY, *names]
    told = subprocess.run(command, check=True, capture_output=True, text=True)
    return f"{int(told.stdout) / len(one):.1f} × one file"


def write_both(one: bytes, other: bytes, folder: Path) -> list[str]:
    names = [folder / "one.json", folder / "other.json"]
    for name, data in zip(names, (one, other), strict=True):
        name.write_bytes(data)
    return [str(name) for name in names]


def test_comparing_is_a_thousand_times_faster_than_deepdiff(tell: Tell, tmp_path: Path) -> None:
    """deepdiff is given a thousand times our time, some minutes, and must not be done by then."""
    show = make_show(40.0)
    one, other = as_bytes(show), as_bytes(edit(show, EDITS, seed=7))
    names = write_both(one, other, tmp_path)
    ours = interleaved(lambda: from_files(one, other))[0]
    with pytest.raises(subprocess.TimeoutExpired):
        subprocess.run([sys.executable, "-c", _DEEPDIFF, *names], timeout=1000 * ours, check=True)
    tell(f"compare 40 MB from two files: 1 ({ours * 1000:.0f} ms), deepdiff more than 1,000")


def test_comparing_is_twenty_times_faster_than_compiled_comparison(tell: Tell) -> None:
    """Ours starts from the bytes of both files; theirs is given both already parsed.

    What parsing both adds to theirs is told beside it: with it both start from the same bytes.
    """
    fast = pytest.importorskip("deepdiff_rs", reason="deepdiff-rs is not installed")
    show = make_show(40.0)
    one, other = as_bytes(show), as_bytes(edit(show, EDITS, seed=7))
    del show
    trees = json.loads(one), json.loads(other)
    ours, theirs, parse = interleaved(
        lambda: from_files(one, other),
        lambda: fast.DeepDiff(*trees),
        lambda: (msgspec.json.decode(one), msgspec.json.decode(other)),
    )
    tell(
        f"compare 40 MB from two files: 1 ({ours * 1000:.0f} ms), deepdiff-rs {theirs / ours:.1f} "
        f"on shows that are parsed already, {(theirs + parse) / ours:.1f} from the same files "
        f"(parsed by msgspec)"
    )
    assert theirs > 20 * ours


def test_comparing_is_faster_than_a_line_diff_of_pretty_text(tell: Tell, tmp_path: Path) -> None:
    show = make_show(40.0)
    one, other = as_bytes(show), as_bytes(edit(show, EDITS, seed=7))
    pretty = [msgspec.json.format(data, indent=2) for data in (one, other)]
    names = write_both(pretty[0], pretty[1], tmp_path)
    ours = interleaved(lambda: from_files(one, other))[0]
    command = ["git", "diff", "--no-index", *names]
    git = median([seconds(lambda: subprocess.run(command, capture_output=True)) for _ in range(3)])
    tell(f"compare 40 MB from two files: 1 ({ours * 1000:.0f} ms), git diff {git / ours:.1f}")


def test_a_preset_that_most_cues_use_moves_at_the_cost_of_reading(tell: Tell) -> None:
    show = make_show(40.0)
    one, other = as_bytes(show), as_bytes(move_used_preset(show))
    del show
    parse, ours = interleaved(lambda: typed_parse(one), lambda: from_files(one, other))
    comparison = from_files(one, other)
    (change,) = comparison.changes  # type: ignore[attr-defined]
    assert isinstance(change, Moved)
    told = seconds(lambda: describe(comparison))  # type: ignore[arg-type]
    listed = seconds(lambda: len(change.followed))
    tell(
        f"a used preset moves, 40 MB: typed parse 1, compared {ours / parse:.2f} "
        f"({ours * 1000:.0f} ms), told in {told * 1000:.1f} ms, its {len(change.followed)} "
        f"references in {len(change.followed.things)} cues listed on demand in {listed:.1f} s"  # type: ignore[attr-defined]
    )
