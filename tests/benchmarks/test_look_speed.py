"""How fast looks are, as ratios of one run.

2,500 fixtures of seven attributes, 1,500 cues, each of which stores one attribute of a fifth of the
fixtures, half of that by reference.
"""

import copy
import random
import time
from collections.abc import Callable

import numpy as np
import pytest
from msgspec import convert

from showvault.compare.changes import Changed, Comparison
from showvault.look.tracking import look_of, retrack, table_of, track_list
from showvault.review.effect import on_stage
from showvault.show.addressing import Thing
from showvault.show.model import Show
from tests.benchmarks.measuring import settle

FIXTURES, CUES = 2500, 1500
ATTRIBUTES = ("Dimmer", "Pan", "Tilt", "ColorAdd_R", "ColorAdd_G", "ColorAdd_B", "Zoom")


def a_big_show(cues: int = CUES) -> dict:
    chance = random.Random(5)
    keys = [str(number) for number in range(1, FIXTURES + 1)]
    channels = [{"attribute": name, "slots": [n]} for n, name in enumerate(ATTRIBUTES, 1)]
    presets = {
        str(n): {"levels": {key: dict.fromkeys(ATTRIBUTES, chance.randrange(101)) for key in keys}}
        for n in range(1, 6)
    }
    return {
        "format": "neutral-show",
        "format_version": 1,
        "fixture_types": {"d": {"modes": {"m": {"channels": channels}}}},
        "patch": {key: {"type": "d", "mode": "m"} for key in keys},
        "presets": {"Dimmer": presets},
        "cue_lists": {
            "1": {
                "cues": {
                    str(number): {
                        "levels": {
                            key: {
                                chance.choice(ATTRIBUTES): chance.randrange(101)
                                if chance.random() < 0.5
                                else {"preset": f"Dimmer {chance.randrange(1, 6)}"}
                            }
                            for key in chance.sample(keys, FIXTURES // 5)
                        }
                    }
                    for number in range(1, cues + 1)
                }
            }
        },
    }


def fastest(work: Callable[[], object], times: int = 7) -> float:
    """The least of several runs: what the work itself takes on a shared machine."""
    settle()
    found = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return min(found)


@pytest.fixture(scope="module")
def tree():
    return a_big_show()


@pytest.fixture(scope="module")
def show(tree):
    return convert(tree, Show)


@pytest.fixture(scope="module")
def tracked(show):
    return track_list(show, "1")


def test_all_looks_cost_at_most_two_copies_of_the_result(tracked, tell):
    table = table_of(tracked).levels

    def copy_it():
        np.copyto(np.empty_like(table), table)

    looks, copies = fastest(lambda: table_of(tracked), 15), fastest(copy_it, 15)
    tell(f"looks: all {looks * 1000:.1f} ms, a copy {copies * 1000:.1f} ms: {looks / copies:.2f} ×")
    assert looks <= 2 * copies


def test_an_edit_costs_at_most_a_twentieth_of_the_whole(tree, show, tracked, tell):
    edited = copy.deepcopy(tree)
    levels = edited["cue_lists"]["1"]["cues"]["700"]["levels"]
    key = sorted(levels)[0]
    (attribute,) = levels[key]
    before, levels[key][attribute] = levels[key][attribute], 33.3
    after = convert(edited, Show)
    path = ("levels", key, attribute)
    comparison = Comparison((Changed(Thing("cue", "700", "1"), path, before, 33.3),))
    whole = fastest(lambda: table_of(track_list(after, "1")), 3)
    again = fastest(lambda: retrack(tracked, after, {"700"}))
    effect = fastest(lambda: on_stage(show, after, comparison))
    tell(
        f"looks: whole {whole * 1000:.0f} ms; after an edit {again * 1000:.1f} ms "
        f"({whole / again:.0f} ×), its effect on stage {effect * 1000:.1f} ms "
        f"({whole / effect:.0f} ×)"
    )
    assert on_stage(show, after, comparison)
    assert again <= whole / 20
    assert effect <= whole / 20


def test_one_look_does_not_take_longer_in_a_longer_list(show, tracked, tell):
    short = track_list(convert(a_big_show(150), Show), "1")
    late = fastest(lambda: [look_of(tracked, str(cue)) for cue in range(1469, 1501)])
    early = fastest(lambda: [look_of(short, str(cue)) for cue in range(100, 132)])
    tell(
        f"looks: one of 1,500 cues {late / 32 * 1000:.2f} ms, one of 150 {early / 32 * 1000:.2f} ms"
    )
    assert late <= 2 * early
