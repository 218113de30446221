"""Writing gives one byte sequence for one show; cutting and joining give the very bytes."""

import re
from decimal import Decimal

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from showvault.show.addressing import Thing
from showvault.show.cutting import (
    cut_into_parts,
    join_parts,
    part_name,
    parts_named_in,
    skeleton_as_json,
    things_named_in,
)
from showvault.show.faults import find_faults_in
from showvault.show.model import Show
from showvault.show.outlines import SECTIONS
from showvault.show.places import path_to, split_path
from showvault.show.reading import decode_show, find_faults, judge_whole, parse_tree
from showvault.show.trees import parse_part, same_tree
from showvault.show.writing import show_as_tree, write_show
from tests.strategies import HOSTILE_TEXTS, Tree, json_values, shows, spellings

laws = settings(deadline=None, suppress_health_check=list(HealthCheck))

hostile_keys = st.one_of(
    st.sampled_from([*HOSTILE_TEXTS, "1", "01", "1.5", "1.05", "1.50", "A", "a", "1e5", "-1", "۱"]),
    st.text(max_size=8),
)
hostile_things = st.one_of(
    st.builds(Thing, st.just("cue"), hostile_keys, hostile_keys),
    st.builds(
        lambda group, place: Thing("preset", f"{group} {place}"),
        st.one_of(st.sampled_from(["Color", "color", "COLOR"]), hostile_keys).filter(
            lambda group: " " not in group
        ),
        hostile_keys,
    ),
    st.builds(Thing, st.sampled_from(sorted(SECTIONS.values())), hostile_keys, st.just("")),
)


@laws
@given(shows)
def test_generated_shows_keep_the_rules_and_decode(show: Tree) -> None:
    written = write_show(show)
    assert find_faults(written) == []
    decode_show(written)


@laws
@given(shows.flatmap(lambda show: st.tuples(st.just(show), spellings(show))))
def test_what_was_written_reads_as_the_same_show_however_it_was_spelled(
    drawn: tuple[Tree, bytes],
) -> None:
    show, spelled = drawn
    written = write_show(show)
    assert write_show(parse_tree(spelled)) == written
    assert write_show(parse_part(spelled)) == written
    assert write_show(parse_tree(written)) == written
    assert write_show(show_as_tree(decode_show(spelled))) == written


@laws
@given(shows, shows)
def test_two_shows_are_equal_exactly_when_their_canonical_bytes_are(one: Tree, other: Tree) -> None:
    reread = parse_tree(write_show(one))
    assert same_tree(reread, parse_tree(write_show(other))) == (
        write_show(one) == write_show(other)
    )


@laws
@given(shows.flatmap(spellings))
def test_cutting_and_joining_gives_the_very_bytes(data: bytes) -> None:
    cut = cut_into_parts(data)
    assert cut is not None
    assert join_parts(cut.skeleton, cut.parts) == data
    assert parts_named_in(cut.skeleton) == list(cut.parts)
    assert things_named_in(cut.skeleton) == cut.names


@laws
@given(shows.flatmap(spellings))
def test_a_part_is_one_thing_and_the_skeleton_is_the_rest(data: bytes) -> None:
    cut = cut_into_parts(data)
    assert cut is not None
    tree, outline = parse_tree(data), parse_tree(skeleton_as_json(cut.skeleton))
    for thing, name in cut.names.items():
        *way, last = path_to(thing)
        holder, emptied = tree, outline
        for token in way:
            holder, emptied = holder[token], emptied[token]
        assert same_tree(parse_part(cut.parts[name]), holder[last])
        assert emptied[last] == {}
        emptied[last] = holder[last]
    assert same_tree(outline, tree)


@laws
@given(shows, st.data())
def test_an_edit_of_one_thing_touches_that_part_alone(show: Tree, data: st.DataObject) -> None:
    before = cut_into_parts(write_show(show))
    assert before is not None
    assume(before.names)
    thing = data.draw(st.sampled_from(sorted(before.names)))
    edited = parse_tree(write_show(show))
    holder = edited
    *way, last = path_to(thing)
    for token in way:
        holder = holder[token]
    holder[last] = {**holder[last], "extra": {"edited": Decimal("0.5")}}
    assume(not same_tree(edited, parse_tree(write_show(show))))
    after = cut_into_parts(write_show(edited))
    assert after is not None
    touched = {name for name in after.parts if after.parts[name] != before.parts.get(name)}
    assert touched == {before.names[thing]}
    assert after.skeleton == before.skeleton


@laws
@given(st.lists(hostile_things, max_size=20, unique=True))
def test_part_names_are_unique_without_regard_to_case_and_safe_on_every_file_system(
    things: list[Thing],
) -> None:
    names = [part_name(thing) for thing in things]
    assert len({name.casefold() for name in names}) == len(things)
    for name in names:
        for step in name.split("/"):
            assert re.fullmatch(r"[a-z0-9_][a-z0-9_.-]{0,60}", step)
            assert not re.fullmatch(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", step)
            assert not step.endswith(".")


@laws
@given(st.dictionaries(hostile_keys, json_values, max_size=4), st.sampled_from(sorted(SECTIONS)))
def test_a_strangers_keys_and_values_are_cut_and_joined_all_the_same(
    members: Tree, section: str
) -> None:
    spelled = write_show({"format": "neutral-show", section: members})
    cut = cut_into_parts(spelled)
    assert cut is not None
    assert join_parts(cut.skeleton, cut.parts) == spelled


keys_with_spaces = st.text("a ", max_size=3)


@laws
@given(st.dictionaries(keys_with_spaces, st.dictionaries(keys_with_spaces, json_values)))
def test_preset_classes_and_places_that_read_alike_are_not_taken_for_each_other(
    presets: Tree,
) -> None:
    spelled = write_show({"format": "neutral-show", "presets": presets})
    cut = cut_into_parts(spelled)
    assert cut is not None
    assert join_parts(cut.skeleton, cut.parts) == spelled
    assert things_named_in(cut.skeleton) == cut.names


@laws
@given(shows.flatmap(spellings), st.data())
def test_a_show_cut_short_anywhere_is_broken(data: bytes, draw: st.DataObject) -> None:
    whole = data.rstrip()
    end = draw.draw(st.integers(0, len(whole) - 1))
    assert judge_whole(whole).state == "whole"
    assert judge_whole(whole[:end]).state == "broken"
    assert cut_into_parts(whole[:end]) is None


@laws
@given(st.binary(max_size=60))
def test_any_bytes_are_judged_without_failing_and_kept_when_they_can_be_cut(data: bytes) -> None:
    judged = judge_whole(data)
    cut = cut_into_parts(data)
    if cut is not None:
        assert judged.state == "whole"
        assert join_parts(cut.skeleton, cut.parts) == data


@laws
@given(json_values)
def test_faults_are_found_in_any_document_without_failing(tree: Tree) -> None:
    for fault in find_faults_in(tree, Show):
        assert fault.text.startswith(fault.place)
        assert fault.pointer == "" or fault.pointer.startswith("/")


@laws
@given(hostile_things)
def test_the_path_of_a_thing_leads_back_to_it(thing: Thing) -> None:
    assert split_path(path_to(thing)) == (thing, [])
