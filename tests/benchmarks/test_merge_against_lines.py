"""Merging by things against merging by lines: the same shows, the same cases, git's own merge.

Two people edit one show, knowing nothing of each other; what each did is known, so a result can be
judged: every edit of both is there (a clean merge may lose none), the show keeps the rules of the
format, and the check finds no error that neither side brought. Run by hand:
pytest tests/benchmarks/test_merge_against_lines.py -s (SHOWVAULT_MERGES sets the cases a row).
"""

import os
import random
import subprocess
from collections import Counter

from showvault.check.finder import find_problems
from showvault.show.reading import find_faults, judge_whole
from showvault.show.trees import parse_part
from showvault.show.writing import write_show
from tests.laws import edits
from tests.laws.sessions import Session, a_house, things_of
from tests.laws.test_merge_laws import assert_arrived, assert_edit_is_there, side_name
from tests.merge.three_sides import Result, merge_bytes

CASES = int(os.environ.get("SHOWVAULT_MERGES", "40"))
CELLS = "clean and right", "clean and wrong", "conflict"
ROWS = {
    "levels, times and texts": (edits.SMALL, (4, 12)),
    "cues and presets come and go": (
        (edits.add_a_cue, edits.remove_a_thing, edits.copy_a_thing),
        (1, 4),
    ),
    "cues renumbered, presets moved": ((edits.renumber_a_run, edits.move_a_thing), (1, 3)),
    "everything": ((*edits.SMALL, *edits.WHOLE), (4, 16)),
}


def a_session(before, kinds, most, seed):
    session = Session(before, random.Random(seed))
    for _ in range(session.chance.randint(*most)):
        session.chance.choice(kinds)(session)
    return session


def by_lines(base, mine, theirs, folder):
    paths = []
    for name, data in (("mine", mine), ("base", base), ("theirs", theirs)):
        paths.append(folder / name)
        paths[-1].write_bytes(data)
    done = subprocess.run(["git", "merge-file", "-p", *paths], capture_output=True)
    return None if done.returncode else done.stdout


def by_things(base, mine, theirs, folder):
    result = merge_bytes(base, mine, theirs)
    return None if result.conflicts else result.data


def judge(data, mine, theirs):
    """Tell whether a clean result is a sound show with everybody's work in it."""
    if judge_whole(data).state != "whole" or find_faults(data):
        return CELLS[1]
    result = Result(parse_part(data), data, ())
    try:
        for side, other in ((mine, theirs), (theirs, mine)):
            for thing, path in side.touched:
                assert_edit_is_there(result, side, other, thing, path)
            for _, thing, _ in side.come:
                assert_arrived(result, side, thing)
            for thing in side.moved:
                name = side_name(mine, theirs, thing)
                assert thing in other.gone or name in things_of(result.show)
    except AssertionError:
        return CELLS[1]
    errors = [_errors(write_show(show)) for show in (mine.show, theirs.show, mine.before)]
    return CELLS[0] if _errors(data) <= errors[0] + errors[1] - errors[2] else CELLS[1]


def _errors(data):
    return sum(finding.severity == "error" for finding in find_problems(data))


def test_merging_by_things_is_never_wrong_and_conflicts_ten_times_less(tmp_path):
    totals = {by_lines: Counter(), by_things: Counter()}
    print(f"\n{'':34}{'lines (git merge-file)':^36}{'things (showvault)':^36}")
    print(f"{CASES} cases a row".ljust(34) + ("right  wrong  conflict".center(36)) * 2)
    for row, (kinds, most) in ROWS.items():
        counts = {merge: Counter() for merge in totals}
        for seed in range(CASES):
            before = a_house(random.Random(seed))
            mine = a_session(before, kinds, most, 2 * seed + 1)
            theirs = a_session(before, kinds, most, 2 * seed + 2)
            sides = [write_show(show) for show in (before, mine.show, theirs.show)]
            for merge, count in counts.items():
                data = merge(*sides, tmp_path)
                count[CELLS[2] if data is None else judge(data, mine, theirs)] += 1
        told = "".join(
            "".join(f"{count[cell]:>9}" for cell in CELLS).center(36) for count in counts.values()
        )
        print(row.ljust(34) + told)
        for merge, count in counts.items():
            totals[merge] += count
    print(
        "all".ljust(34)
        + "".join(
            "".join(f"{count[cell]:>9}" for cell in CELLS).center(36) for count in totals.values()
        )
    )
    assert totals[by_things][CELLS[1]] == 0
    assert totals[by_things][CELLS[2]] * 10 <= totals[by_lines][CELLS[2]]
