"""The quick way to the faults of a show finds what the patient one finds."""

import random

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from showvault.check.faults import find_faults_in_order
from showvault.show.reading import find_faults, parse_tree
from showvault.show.trees import Tree
from tests.builders import a_cue, a_full_show, a_show, a_show_of_cues, as_bytes
from tests.strategies import damaged, shows, spell


def test_a_sound_show_has_no_fault() -> None:
    assert find_faults_in_order(as_bytes(a_full_show())) == []


def test_faults_come_in_the_order_of_a_show_whatever_the_order_of_keys() -> None:
    cues = {"10": a_cue(label=1), "9.5": a_cue(label=1)}
    show = a_show_of_cues(cues, title=1, groups={"1.10": 5, "1.9": 5})
    for roll in range(5):
        pointers = [f.pointer for f in find_faults_in_order(spell(show, random.Random(roll)))]
        assert pointers == [
            "/title",
            "/groups/1.9",
            "/groups/1.10",
            "/cue_lists/1/cues/9.5/label",
            "/cue_lists/1/cues/10/label",
        ]


def test_bytes_that_are_no_utf_8_are_told_with_their_place_in_the_file() -> None:
    data = as_bytes(a_show_of_cues({"1": a_cue(label="caf~")})).replace(b"~", b"\xe9")
    assert find_faults_in_order(data) == find_faults(data)
    assert "not UTF-8" in find_faults_in_order(data)[0].text


def test_a_newer_show_and_one_of_another_kind_are_told_as_such() -> None:
    newer = as_bytes(a_full_show()).replace(b'"format_version": 1', b'"format_version": 2')
    for data in (newer, b"[]", b"{}", b'{"format": "x", "title": 1}'):
        assert find_faults_in_order(data) == find_faults(data)


def test_a_part_too_large_to_hurry_over_is_walked_through_all_the_same() -> None:
    data = as_bytes(a_show(macros={"1": {"name": "x" * 1_100_000}, "2": {"name": 2}}))
    assert [fault.pointer for fault in find_faults_in_order(data)] == ["/macros/2/name"]


@settings(deadline=None, suppress_health_check=list(HealthCheck), max_examples=150)
@given(shows, st.data())
def test_the_quick_way_finds_what_the_patient_one_finds(show: Tree, data: st.DataObject) -> None:
    tree = parse_tree(as_bytes(show))
    for _ in range(data.draw(st.integers(1, 3))):
        tree = data.draw(damaged(tree))
    spelled = spell(tree, random.Random(0))
    assert sorted(map(repr, find_faults_in_order(spelled))) == sorted(
        map(repr, find_faults(spelled))
    )
