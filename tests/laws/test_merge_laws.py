"""Laws of merging: an untouched side never wins, equal sides agree, nothing of a side vanishes.

SHOWVAULT_MERGES sets how many cases are tried, for a long run: 100 unless set.
"""

import os
import random

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from msgspec import UNSET

from showvault.compare.applying import apply_comparison
from showvault.compare.changes import Moved
from showvault.merge.conflicts import Choice, Conflict, always
from showvault.show.addressing import Thing
from showvault.show.places import path_to, pointer_to
from showvault.show.reading import find_faults
from showvault.show.trees import parse_part
from showvault.show.writing import write_show
from tests.builders import Tree
from tests.compare.pairs import comparison_of
from tests.laws.edits import SMALL, change_channels, edited, readdress
from tests.laws.moves import WHOLE, move_a_thing
from tests.laws.sessions import Session, a_house, spelled, things_of, value_at
from tests.merge.nights import NIGHTS, a_night
from tests.merge.three_sides import Result, merge_trees
from tests.strategies import shows

CASES = int(os.environ.get("SHOWVAULT_MERGES", "100"))
seeds = st.integers(0, 2**32 - 1)
calm = settings(
    max_examples=CASES, deadline=None, suppress_health_check=list(HealthCheck), database=None
)
by_seed = settings(calm, max_examples=max(CASES // 3, 1), phases=[Phase.generate])
"""Sessions follow from a seed, so a smaller seed is no smaller case."""


def two_sessions(seed: int) -> tuple[Session, Session]:
    """Two people who start from one show and know nothing of each other."""
    chance = random.Random(seed)
    base = a_house(chance)
    return edited(Session(base, random.Random(seed + 1))), edited(
        Session(base, random.Random(seed + 2))
    )


def merged(mine: Session, theirs: Session) -> Result:
    return merge_trees(mine.before, mine.show, theirs.show)


@calm
@given(shows, shows)
def test_an_untouched_side_never_wins(base: Tree, changed: Tree):
    for result in (merge_trees(base, base, changed), merge_trees(base, changed, base)):
        assert result.conflicts == ()
        assert write_show(result.show) == write_show(changed)


@calm
@given(shows, shows)
def test_equal_sides_never_conflict(base: Tree, changed: Tree):
    result = merge_trees(base, changed, changed)
    assert result.conflicts == ()
    assert result.data == write_show(changed)


@calm
@given(shows, shows, shows)
def test_swapping_the_sides_of_any_shows_swaps_labels_only(base: Tree, one: Tree, other: Tree):
    assert_swaps(base, one, other)


@by_seed
@given(seeds)
def test_swapping_two_sessions_swaps_labels_only(seed: int):
    mine, theirs = two_sessions(seed)
    assert_swaps(mine.before, mine.show, theirs.show)


MEETING = (*[e for e in SMALL if e is not change_channels], *WHOLE, *[move_a_thing, readdress] * 5)


@by_seed
@given(seeds)
def test_swapping_two_who_keep_meeting_swaps_labels_only(seed: int):
    """They renumber, re-address and remove the same few things."""
    chance = random.Random(seed)
    base = a_house(chance)
    mine, theirs = (Session(base, random.Random(seed + n)) for n in (1, 2))
    few = [thing for thing in things_of(base) if chance.random() < 0.15]
    for side in (mine, theirs):
        side.busy |= set(things_of(base)) - set(few)
        for edit in chance.choices(MEETING, k=25):
            edit(side)
    assert_swaps(base, mine.show, theirs.show)


@by_seed
@given(st.sampled_from(sorted(NIGHTS)), st.integers(0, 2**20))
def test_swapping_the_sides_of_a_night_swaps_labels_only(row: str, seed: int):
    night = a_night(row, seed)
    assert_swaps(*map(parse_part, (night.base, night.mine, night.theirs)))


def assert_swaps(base: Tree, one: Tree, other: Tree) -> None:
    there, back = merge_trees(base, one, other), merge_trees(base, other, one)
    assert swapped_labels(there, TWO_NUMBERS) == labels_of(back, TWO_NUMBERS)
    if not there.conflicts:
        assert write_show(there.show) == write_show(back.show)
    # What nobody decided has mine's number meanwhile, and that is how all else names it.
    there, back = (
        merge_trees(base, *sides, numbers_alone) for sides in ((one, other), (other, one))
    )
    assert swapped_labels(there) == labels_of(back)
    for choice, swapped in (("mine", "theirs"), ("base", "base")):
        one_way = merge_trees(base, one, other, always(choice))
        other_way = merge_trees(base, other, one, always(swapped))
        assert write_show(one_way.show) == write_show(other_way.show)


TWO_NUMBERS = " got two new numbers: "


def numbers_alone(conflict: Conflict) -> Choice | None:
    return "base" if TWO_NUMBERS in conflict.text else None


def labels_of(result: Result, among: str = "") -> set[tuple[str, ...]]:
    found = [c for c in result.conflicts if among in c.text]
    return {labels(c.pointer, c.base, c.mine, c.theirs) for c in found}


def swapped_labels(result: Result, among: str = "") -> set[tuple[str, ...]]:
    found = [c for c in result.conflicts if among in c.text]
    return {labels(c.pointer, c.base, c.theirs, c.mine) for c in found}


def labels(pointer: str, *values: Tree) -> tuple[str, ...]:
    return (pointer, *map(spelled, values))


@calm
@given(shows, shows, shows)
def test_what_is_merged_is_a_sound_show(base: Tree, one: Tree, other: Tree):
    assert find_faults(merge_trees(base, one, other).data) == []


@by_seed
@given(seeds)
def test_two_sessions_that_move_nothing_merge_as_one_after_the_other_in_either_order(seed: int):
    mine, theirs = two_sessions(seed)
    ours, others = (comparison_of(side.before, side.show) for side in (mine, theirs))
    moved = any(isinstance(c, Moved) for c in (*ours.changes, *others.changes))
    result = merged(mine, theirs)
    if moved or result.conflicts:
        return
    in_turn = apply_comparison(ours, theirs.show), apply_comparison(others, mine.show)
    assert write_show(in_turn[0]) == write_show(in_turn[1]) == write_show(result.show)


@by_seed
@given(seeds)
def test_every_edit_of_either_side_is_in_the_show_or_in_a_conflict(seed: int):
    mine, theirs = two_sessions(seed)
    result = merged(mine, theirs)
    for side, other in ((mine, theirs), (theirs, mine)):
        for thing, path in side.touched:
            assert_edit_is_there(result, side, other, thing, path)
        for thing in side.gone:
            name = side_name(mine, theirs, thing)
            gone = value_at(result.show, path_to(name)) is UNSET
            assert gone or in_conflict(result, name, ()) or name in arrivals(mine, theirs)
        for _, thing, _ in side.come:
            assert_arrived(result, side, thing)


def side_name(mine: Session, theirs: Session, thing: Thing) -> Thing:
    for side in (mine, theirs):
        if side.new_name(thing) != thing:
            return side.new_name(thing)
    return thing


def arrivals(*sides: Session) -> set[Thing]:
    return {thing for side in sides for _, thing, _ in side.come} | {
        thing for side in sides for thing in side.moved.values()
    }


def assert_edit_is_there(
    result: Result, side: Session, other: Session, thing: Thing, path: tuple[str, ...]
) -> None:
    if thing in side.gone:
        return
    there = (*path_to(side.new_name(thing)), *side.new_path(path))
    value = value_at(side.show, there)
    name = side_name(side, other, thing)
    inside = side.new_path(path)
    inside = inside if inside != path else other.new_path(path)
    found = value_at(result.show, (*path_to(name), *inside))
    as_before = value_at(result.show, (*path_to(name), *path))
    assert (
        spelled(found) == spelled(value)
        or (value is UNSET and as_before is UNSET)
        or in_conflict(result, name, inside)
        or in_conflict(result, thing, path)
        or names_a_moved_thing(value, found, side, other)
        or members_are_there(value, found, value_at(side.before, (*path_to(thing), *path)), path)
    ), (thing, path, value, found)


def members_are_there(value: Tree, found: Tree, before: Tree, path: tuple[str, ...]) -> bool:
    """Lists of members hold what both sides put in and not what either side took out."""
    if path[-1] != "fixtures" or not (isinstance(value, list) and isinstance(found, list)):
        return False
    put_in, taken_out = set(value) - set(before), set(before) - set(value)
    return put_in <= set(found) and not taken_out & set(found)


def names_a_moved_thing(value: Tree, found: Tree, side: Session, other: Session) -> bool:
    """A reference that one side set may have followed what the other side moved."""
    return (
        bool(other.moved or side.moved)
        and value is not UNSET
        and found is not UNSET
        and (isinstance(value, dict | list | str) and type(value) is type(found))
    )


def in_conflict(result: Result, thing: Thing, inside: tuple[str, ...]) -> bool:
    wanted = pointer_to((*path_to(thing), *inside))
    return any(
        wanted.startswith(conflict.pointer) or conflict.pointer.startswith(wanted)
        for conflict in result.conflicts
    )


def assert_arrived(result: Result, side: Session, thing: Thing) -> None:
    came = value_at(side.show, path_to(thing))
    label = came.get("label") if isinstance(came, dict) else None
    everywhere = [
        cue
        for cue_list in result.show["cue_lists"].values()
        for cue in cue_list.get("cues", {}).values()
    ]
    assert (
        value_at(result.show, path_to(thing)) is not UNSET
        or came in everywhere
        or any(label is not None and cue.get("label") == label for cue in everywhere)
        or in_conflict(result, thing, ())
    ), thing
