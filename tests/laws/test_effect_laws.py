"""The law of a review: every cue whose picture differs, and its causes, proven by undoing them.

Pictures are compared by the slow walk (tests/look/slow_walk.py); an edit that is named as
a cause is put back in the new show, and the difference that it explains must be gone.
"""

import copy
import os
import random
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from showvault.compare.differ import compare_shows
from showvault.look.levels import ABSENT, percent_of
from showvault.review.causes import (
    CueAdded,
    CueMoved,
    CueRemoved,
    Edited,
    ThroughPreset,
    Tracks,
    TypeChanged,
)
from showvault.review.effect import on_stage
from showvault.review.pairs import Pairs
from showvault.show.parts import parts_of_file
from showvault.show.reading import decode_show
from showvault.show.writing import write_show
from tests.look import shows
from tests.look.sessions import edit
from tests.look.slow_walk import defaults_of, slow_looks

MANY = settings(max_examples=int(os.environ.get("SHOWVAULT_REVIEWS", "120")), deadline=None)
seeds = st.integers(0, 2**48)


def session(seed, edits):
    chance = random.Random(seed)
    before = shows.a_show(chance)
    after = copy.deepcopy(before)
    for _ in range(edits):
        edit(chance, after)
    return before, after


def review(before, after):
    one, other = write_show(before), write_show(after)
    comparison = compare_shows(parts_of_file(one), parts_of_file(other))
    old, new = decode_show(one), decode_show(other)
    return on_stage(old, new, comparison), Pairs(old, new, comparison)


def seen(tree, other, looks, parameter, cue):
    """What a reviewer sees of a parameter: nothing of what only one show has and nobody stores."""
    level = looks[cue].get(parameter)
    here, there = defaults_of(tree), defaults_of(other)
    if (parameter in here) == (parameter in there):
        return level
    if parameter not in here:
        return None
    dark = Decimal(0) if parameter[1] == "Dimmer" else here[parameter]
    return None if level == dark else level


def differing(before, after, pairs):
    found = {}
    for cues in pairs.lists():
        one = slow_looks(before, cues.old_list)
        other = slow_looks(after, cues.new_list)
        for new, old in cues.old.items():
            for parameter in one[old].keys() | other[new].keys():
                was = seen(before, after, one, parameter, old)
                now = seen(after, before, other, parameter, new)
                if was != now:
                    found[cues.new_list, new, *parameter] = (was, now)
    return found


def as_percent(level):
    return None if level == ABSENT else percent_of(level)


def rows_of(effects):
    return {
        (effect.cue.list, effect.cue.id, shift.fixture, shift.attribute): (
            as_percent(shift.before),
            as_percent(shift.after),
        )
        for effect in effects
        for shift in effect.shifts
    }


def store(show, list_number, number, parameter, stored_in):
    """Make a cue store for one parameter what a cue of another show stores, and nothing else."""
    key, attribute = parameter
    cue = show["cue_lists"][list_number]["cues"].setdefault(number, {})
    for part in [cue, *cue.get("parts", {}).values()]:
        part.get("levels", {}).get(key, {}).pop(attribute, None)
    for name, part in [(None, stored_in), *stored_in.get("parts", {}).items()]:
        value = part.get("levels", {}).get(key, {}).get(attribute)
        if value is not None:
            into = cue if name is None else cue.setdefault("parts", {}).setdefault(name, {})
            into.setdefault("levels", {}).setdefault(key, {})[attribute] = value


def undo(before, after, causes, parameter, pairs, list_number):
    """Return the new show with the named edits put back."""
    show = copy.deepcopy(after)
    cues = show["cue_lists"][list_number]["cues"]
    old_cues = before["cue_lists"][list_number]["cues"]
    moved = {}
    for cause in causes:
        undo_in_place(before, show, cause, parameter, pairs)
    for cause in causes:
        match cause:
            case CueAdded(source):
                del cues[source.id]
            case CueMoved(source, from_):
                moved[from_.id] = cues.pop(source.id)
    for number, cue in moved.items():
        if number in cues:
            store(show, list_number, number, parameter, cue)
        else:
            cues[number] = cue
    for cause in causes:
        if isinstance(cause, CueRemoved):
            store(show, list_number, cause.source.id, parameter, old_cues[cause.source.id])
    return show


def undo_in_place(before, show, cause, parameter, pairs):
    match cause:
        case Edited(source) if source.kind == "cue_list":
            of_list = show["cue_lists"][source.id]
            of_list["tracking"] = before["cue_lists"][source.id].get("tracking", True)
        case Edited(source) | Tracks(source):
            old = next(p for p in pairs.lists() if p.new_list == source.list).old[source.id]
            old_cue = before["cue_lists"][source.list]["cues"][old]
            store(show, source.list, source.id, parameter, old_cue)
        case ThroughPreset(source):
            group, place = source.id.split(" ")
            old_group, old_place = (pairs.old_name(source) or source).id.split(" ")
            show["presets"][group].pop(place, None)
            if old_place in before["presets"][old_group]:
                show["presets"][group][place] = before["presets"][old_group][old_place]
        case TypeChanged(source) if source.kind == "fixture":
            show["patch"].pop(source.id, None)
            if source.id in before["patch"]:
                show["patch"][source.id] = before["patch"][source.id]
        case TypeChanged(source):
            show["fixture_types"][source.id] = before["fixture_types"][source.id]


@MANY
@given(seeds, st.integers(0, 6))
def test_every_cue_whose_picture_differs_is_told_and_no_other(seed, edits):
    before, after = session(seed, edits)
    effects, pairs = review(before, after)
    assert rows_of(effects) == differing(before, after, pairs)


@MANY
@given(seeds, st.integers(1, 5))
def test_undoing_the_named_edits_takes_the_difference_away(seed, edits):
    before, after = session(seed, edits)
    effects, pairs = review(before, after)
    for effect in effects:
        for shift in effect.shifts:
            parameter = (shift.fixture, shift.attribute)
            causes = [b.cause for b in effect.because if parameter in b.parameters]
            assert causes, (effect.cue, parameter)
            number = effect.cue.list
            undone = undo(before, after, causes, parameter, pairs, number)
            old = next(p for p in pairs.lists() if p.new_list == number).old[effect.cue.id]
            moved_back = any(isinstance(c, CueMoved) and c.source == effect.cue for c in causes)
            cue = old if moved_back else effect.cue.id
            was = seen(before, undone, slow_looks(before, number), parameter, old)
            now = seen(undone, before, slow_looks(undone, number), parameter, cue)
            if (parameter in defaults_of(before)) == (parameter in defaults_of(after)):
                assert was == now, (effect.cue, parameter, causes)
            else:  # with the fixture back, other edits of it may come to light
                assert (was, now) != (as_percent(shift.before), as_percent(shift.after))


@MANY
@given(seeds, st.integers(1, 4))
def test_a_cause_reaches_from_the_first_cue_to_the_last_and_stops_where_it_says(seed, edits):
    before, after = session(seed, edits)
    effects, pairs = review(before, after)
    differ = rows_of(effects)
    for effect in effects:
        order = sorted(after["cue_lists"][effect.cue.list]["cues"], key=Decimal)
        for because in effect.because:
            if because.reach is None:
                continue
            first, last, stop = because.reach
            assert Decimal(first) <= Decimal(effect.cue.id) <= Decimal(last)
            assert stop == next(iter(order[order.index(last) + 1 :]), None)
            for fixture, attribute in because.parameters:
                for cue in order[order.index(first) : order.index(last) + 1]:
                    old = next(p for p in pairs.lists() if p.new_list == effect.cue.list).old
                    assert cue not in old or (effect.cue.list, cue, fixture, attribute) in differ
