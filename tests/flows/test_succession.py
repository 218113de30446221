"""What of a show is new: the show in memory and the store tell the same."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showvault.compare.differ import compare_shows
from showvault.flows.stored import SHOW_FOLDER, SKELETON
from showvault.flows.succession import HeldShow, after_held, held_in
from showvault.show.cutting import CutShow, cut_into_parts
from showvault.show.parts import parts_of
from showvault.show.recutting import cut_like
from showvault.show.understanding import find_faults_of_parts
from showvault.show.writing import write_show
from showvault.vault.differing import apply_difference, encode_difference
from showvault.vault.parts import blob_id
from tests.builders import Tree
from tests.flows.rooms import Room, a_save
from tests.laws.edits import edited
from tests.laws.moves import WHOLE, move_a_preset_alone, move_a_thing
from tests.laws.sessions import Session, a_house

seeds = st.integers(0, 2**32 - 1)


def cut(show: Tree) -> CutShow:
    found = cut_into_parts(write_show(show))
    assert found is not None
    return found


def assert_told_alike(session: Session) -> tuple[int, int]:
    """Hold the two shows against each other both ways.

    Return how many parts only followed, and of how many it is known which bytes are new.
    """
    last = cut(session.before)
    held = HeldShow(last)
    held.get_ready()
    recut = cut_like(write_show(session.show), last, held.references)
    assert recut is not None
    assert recut == cut_like(write_show(session.show), last)
    now, following = recut.cut, after_held(held, recut)
    assert now == cut_into_parts(write_show(session.show))
    told = compare_shows(*following.sides(lambda blob: b""))  # type: ignore[arg-type]
    assert told == compare_shows(parts_of(last), parts_of(now))
    for path, difference in following.differences.items():
        was = last.parts[path.removeprefix(SHOW_FOLDER)]
        told = encode_difference(difference, len(was), len(following.changed[path]))
        assert apply_difference(was, told, len(following.changed[path])) == following.changed[path]
    before = {thing: last.parts[name] for thing, name in last.names.items()}
    after = {thing: now.parts[name] for thing, name in now.names.items()}
    faults = find_faults_of_parts(after, before, following.renamed)
    assert faults == find_faults_of_parts(after)
    presets = following.sides(lambda blob: b"")[1].presets
    return sum(bool(presets.known(thing)) for thing in after), len(following.differences)


@settings(max_examples=40, deadline=None)
@given(seeds)
def test_what_is_seen_of_moved_presets_at_once_is_what_reading_every_part_tells(seed: int) -> None:
    chance = random.Random(seed)
    session = edited(Session(a_house(chance), chance), whole=WHOLE)
    for _ in range(8):
        chance.choice([move_a_thing, move_a_thing, move_a_preset_alone])(session)
    assert_told_alike(session)


def test_parts_in_which_only_the_name_is_new_are_seen() -> None:
    seen = differences = 0
    for seed in range(20):
        chance = random.Random(seed)
        session = Session(a_house(chance), chance)
        for _ in range(4):
            move_a_thing(session)
        followed, told = assert_told_alike(session)
        seen += followed
        differences += told
    assert seen > 20
    assert differences > 10


def test_the_things_of_a_show_are_found_once_and_shared_with_the_next() -> None:
    chance = random.Random(1)
    session = Session(a_house(chance), chance)
    last = cut(session.before)
    move_a_thing(session)
    recut = cut_like(write_show(session.show), last)
    assert recut is not None
    held = HeldShow(last)
    following = after_held(held, recut)
    before, after = following.sides(lambda blob: b"")
    assert before is held.things()
    assert after.parts == following.show.things().parts
    assert after.outline == parts_of(following.show.cut).outline
    same = [thing for thing in last.names if after.parts.get(thing) is held.things().parts[thing]]
    assert 0 < len(same) < len(last.names)


def test_a_show_that_is_the_very_one_of_a_tree_is_held_as_a_save_cuts_it(room: Room) -> None:
    version = room.keep(room.save(a_save(50))).version
    held = held_in(room.vault.store.tree(version.commit), a_save(50))
    assert held is not None
    assert held.cut == cut_into_parts(a_save(50))


@pytest.mark.parametrize("wrong", ["show/cue_lists/1/0/cue-1", SKELETON, "show/cue_lists/1/9/more"])
def test_a_show_that_is_another_one_than_the_tree_holds_is_not_held(room: Room, wrong: str) -> None:
    version = room.keep(room.save(a_save(50))).version
    tree = {**room.vault.store.tree(version.commit), wrong: blob_id(b"{}")}
    assert held_in(tree, a_save(50)) is None


def test_bytes_that_are_no_show_are_not_held() -> None:
    assert held_in({}, b"[") is None
