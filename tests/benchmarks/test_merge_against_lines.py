"""Merging by things against merging by lines: the same shows, the same cases, git's own merge.

Two people edit one show, knowing nothing of each other. What each did is known, so what a merge has
to give, and where somebody has to decide, is worked out without the program (tests/merge/truth.py).
A merge of a case is *right* (everybody's work, in a sound file), *wrong* (clean, and not that; or
clean where somebody had to decide), *due* (a conflict where one was due) or *needless*.

Run by hand: pytest tests/benchmarks/test_merge_against_lines.py -s (SHOWVAULT_MERGES sets the cases
a row).
"""

import os
import subprocess
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from tests.merge.nights import NIGHTS, Night, a_night
from tests.merge.three_sides import merge_bytes
from tests.merge.truth import Truth, is_true

CASES = int(os.environ.get("SHOWVAULT_MERGES", "40"))
FIRST = 10_000
"""Nights that nobody looked at while merging and matching were mended."""
CELLS = "right", "wrong", "due", "needless"


class Merge(NamedTuple):
    """What a merge gave: bytes, and how many conflicts it left."""

    data: bytes
    conflicts: int


def by_lines(night: Night, folder: Path) -> Merge:
    """Merge as git does; every hunk that it leaves is a conflict."""
    paths = []
    for name, data in (("mine", night.mine), ("base", night.base), ("theirs", night.theirs)):
        paths.append(folder / name)
        paths[-1].write_bytes(data)
    done = subprocess.run(["git", "merge-file", "-p", *paths], capture_output=True)
    return Merge(done.stdout, done.stdout.count(b"\n<<<<<<< "))


def by_things(night: Night, folder: Path) -> Merge:
    """Merge as the program does."""
    result = merge_bytes(night.base, night.mine, night.theirs)
    return Merge(result.data, len(result.conflicts))


MERGES: dict[str, Callable[[Night, Path], Merge]] = {
    "lines (git merge-file)": by_lines,
    "things (showvault)": by_things,
}


def judge(merge: Merge, truth: Truth) -> str:
    if merge.conflicts:
        return "due" if truth.clashes or truth.avoidable else "needless"
    return "right" if not truth.clashes and is_true(merge.data, truth) else "wrong"


def test_merging_by_things_is_never_wrong_and_conflicts_ten_times_less(tmp_path):
    totals = {name: Counter() for name in MERGES}
    print(f"\n{CASES} nights a row".ljust(42) + "".join(f"{name:^36}" for name in MERGES))
    print(" " * 41 + "".join(f"{cell:>9}" for cell in CELLS) * len(MERGES))
    for row in NIGHTS:
        counts = {name: Counter() for name in MERGES}
        for seed in range(FIRST, FIRST + CASES):
            night = a_night(row, seed)
            for name, merge in MERGES.items():
                merged = merge(night, tmp_path)
                counts[name][judge(merged, night.truth)] += 1
                totals[name]["conflicts"] += merged.conflicts
                totals[name]["clashes"] += len(night.truth.clashes)
                if not night.truth.clashes and not night.truth.avoidable:
                    totals[name]["nights without a clash"] += 1
                    totals[name]["stopped without a clash"] += bool(merged.conflicts)
        print(row.ljust(41) + "".join(f"{count[c]:>9}" for count in counts.values() for c in CELLS))
        for name, count in counts.items():
            totals[name] += count
    print("all".ljust(41) + "".join(f"{count[c]:>9}" for count in totals.values() for c in CELLS))
    for name, count in totals.items():
        print(
            f"{name}: {count['due'] + count['needless']} of {CASES * len(NIGHTS)} nights stop, at "
            f"{count['conflicts']} conflicts, where {count['clashes']} clashes are due; "
            f"{count['stopped without a clash']} of the {count['nights without a clash']} nights "
            "in which nobody has to decide"
        )
    lines, things = totals.values()
    assert things["wrong"] == 0
    assert things["needless"] * 10 <= lines["needless"]
    assert things["conflicts"] * 10 <= lines["conflicts"]
