"""A save may ask of the changed parts alone what the check asks of the whole show."""

import random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from showvault.show.addressing import Thing
from showvault.show.cutting import cut_into_parts
from showvault.show.model import FORMAT_VERSION
from showvault.show.reading import find_faults, parse_tree
from showvault.show.trees import Tree
from showvault.show.understanding import (
    MODELS,
    find_faults_of_outline,
    find_faults_of_parts,
)
from tests.builders import a_cue, a_full_show, a_show_of_cues, as_bytes
from tests.strategies import damaged, shows, spell


def faults_part_by_part(data: bytes) -> set[tuple[str, str, str]]:
    cut = cut_into_parts(data)
    assert cut is not None
    faults = find_faults_of_outline(cut.skeleton)
    faults += find_faults_of_parts({thing: cut.parts[name] for thing, name in cut.names.items()})
    return {(fault.pointer, fault.found, fault.expected) for fault in faults}


def faults_of_the_whole(data: bytes) -> set[tuple[str, str, str]]:
    return {(fault.pointer, fault.found, fault.expected) for fault in find_faults(data)}


def test_a_sound_show_has_no_fault_part_by_part() -> None:
    assert faults_part_by_part(as_bytes(a_full_show())) == set()


def test_a_fault_of_a_part_is_told_with_its_place_in_the_whole_show() -> None:
    data = as_bytes(a_show_of_cues({"12.5": a_cue(fade_in=-1), "2": a_cue(label=3)}))
    assert faults_part_by_part(data) == faults_of_the_whole(data)
    assert len(faults_of_the_whole(data)) == 2


def test_a_thing_given_twice_is_told_from_the_outline() -> None:
    data = as_bytes(a_show_of_cues({"1": a_cue(), "2": a_cue()})).replace(b'"2": {\n', b'"1": {\n')
    assert faults_part_by_part(data) == faults_of_the_whole(data)
    assert faults_of_the_whole(data)


def test_a_newer_format_is_told_from_the_outline() -> None:
    newer = f'"format_version": {FORMAT_VERSION + 1}'.encode()
    data = as_bytes(a_full_show()).replace(b'"format_version": 1', newer)
    assert {pointer for pointer, *_ in faults_part_by_part(data)} == {"/format_version"}
    assert {pointer for pointer, *_ in faults_of_the_whole(data)} == {"/format_version"}


NOTHING_STORED = [{}, {"fade": 1}, {"delay": 1}, {"extra": 1}, {"extra": 1, "fade": 1}]


@pytest.mark.parametrize("value", NOTHING_STORED)
def test_a_stored_value_that_stores_nothing_is_told(value: Tree) -> None:
    show = a_show_of_cues({"1": a_cue({"101": {"Dimmer": value}})})
    data = spell(show, random.Random(0))
    assert faults_part_by_part(data) == faults_of_the_whole(data)
    assert len(faults_of_the_whole(data)) == 1


def test_every_kind_of_thing_has_its_type() -> None:
    cut = cut_into_parts(as_bytes(a_full_show()))
    assert cut is not None
    assert {thing.kind for thing in cut.names} <= MODELS.keys()


laws = settings(deadline=None, suppress_health_check=list(HealthCheck), max_examples=150)


@laws
@given(shows, st.data())
def test_faults_part_by_part_are_the_faults_of_the_whole_show(
    show: Tree, data: st.DataObject
) -> None:
    tree = parse_tree(as_bytes(show))
    for _ in range(data.draw(st.integers(1, 2))):
        tree = data.draw(damaged(tree))
    spelled = spell(tree, random.Random(0))
    if not isinstance(tree, dict) or tree.get("format_version") != 1:
        return
    assert faults_part_by_part(spelled) == faults_of_the_whole(spelled)


OTHER_NAMES = ["Color 1.2", "Color 2.1", "Nonsense 1", "Color", "", "Color 1.1"]


@pytest.mark.parametrize("title", ["Night", "Night" * 300_000], ids=["few bytes", "many"])
@given(
    st.lists(st.tuples(st.sampled_from(OTHER_NAMES), st.integers(40, 42)), min_size=1, max_size=6)
)
def test_what_a_sound_show_held_before_spares_no_fault(
    title: str, now: list[tuple[str, int]]
) -> None:
    """Presets that moved are recognised from the bytes; a part with anything else is read."""

    def show(stored: list[tuple[str, int]]) -> bytes:
        return as_bytes(
            a_show_of_cues(
                {
                    str(number): a_cue(
                        levels={
                            "1": {"Dimmer": {"level": level}, "ColorAdd_R": {"preset": name}},
                            "2": {"ColorAdd_R": {"preset": name, "fade": 2}},
                        }
                    )
                    for number, (name, level) in enumerate(stored, 1)
                }
                | {"99": a_cue(label=title)}
            )
        )

    def things(data: bytes) -> dict[Thing, bytes]:
        cut = cut_into_parts(data)
        assert cut is not None
        return {thing: cut.parts[name] for thing, name in cut.names.items()}

    before = things(show([("Color 1.1", 40)] * len(now)))
    assert find_faults_of_parts(before) == []
    after = things(show(now))
    assert find_faults_of_parts(after, before) == find_faults_of_parts(after)


def things(data: bytes) -> dict[Thing, bytes]:
    cut = cut_into_parts(data)
    assert cut is not None
    return {thing: cut.parts[name] for thing, name in cut.names.items()}


OUTLINE = b"""{"format": "neutral-show", "format_version": 1, "patch": {"1": {}, "2": {}},
"presets": {"Color": {"1.1": {}}}, "cue_lists": {"1": {"name": "Main", "cues": {"1": {}}}}}"""


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b'"1": {}, "2"', b'"1": {}, "0"'),
        (b'"1.1"', b'"one"'),
        (b'"Color"', b'"Odour"'),
        (b'"Main"', b"5"),
        (b'"cues": {"1"', b'"cues": {"1.2345"'),
        (b'"patch"', b'"match"'),
        (b'"format_version": 1', b'"format_version": "1"'),
        (b'"presets"', b'"patch": {}, "presets"'),
        (b'"presets"', b'"macros": 5, "presets"'),
        (b'{"format"', b'["format"'),
        (b'"1": {}, "2"', b'"7": {}, "2"'),
    ],
)
def test_after_a_sound_outline_the_faults_of_the_next_one_are_found(old: bytes, new: bytes) -> None:
    assert find_faults_of_outline(OUTLINE) == []
    after = OUTLINE.replace(old, new, 1)
    assert after != OUTLINE
    assert find_faults_of_outline(after, OUTLINE) == find_faults_of_outline(after)
    assert bool(find_faults_of_outline(after)) == (b'"7"' not in after)


TOO_DEEP = b"[" * 1_100 + b"]" * 1_100


def test_a_show_that_is_nested_too_deep_is_told_and_not_walked_through() -> None:
    data = b'{"format": "neutral-show", "format_version": 1, "extra": ' + TOO_DEEP + b"}"
    (fault,) = find_faults_of_outline(data)
    assert "levels deep" in fault.text
    assert [fault] == find_faults(data)


def test_a_part_that_is_nested_too_deep_is_told_and_the_others_are_judged() -> None:
    deep = Thing("cue", "1", "1")
    wrong = as_bytes(a_cue(fade_in=-1))
    told = find_faults_of_parts(
        {deep: b'{"extra": ' + TOO_DEEP + b"}", Thing("cue", "2", "1"): wrong}
    )
    assert len(told) == 2
    assert "levels deep" in told[0].text
    assert told[1].pointer == "/cue_lists/1/cues/2/fade_in"


def test_an_outline_that_is_cut_off_is_told_as_that() -> None:
    """As it may come out of a stranger's vault; no file that was cut has one."""
    (fault,) = find_faults_of_outline(b'{"format": "neutral-show", ')
    assert fault.place == "the show"
    assert "ends in the middle" in fault.text


@pytest.mark.parametrize(
    ("was", "now"),
    [
        (b'"levels": {"1": {"Dimmer": 5}}', b'"levels": {"1": {"Dimmer": 5}, "1": {"Dimmer": 6}}'),
        (b'"label": "a", "levels": {"1"', b'"label": "a", "label": "a", "levels": {"1"'),
    ],
)
def test_a_key_given_twice_is_told_though_its_last_value_is_as_it_was(
    was: bytes, now: bytes
) -> None:
    cue = Thing("cue", "1", "1")
    before = b'{"label": "a", "levels": {"1": {"Dimmer": 5}}, "fade_in": 3}'
    after = before.replace(was, now)
    assert find_faults_of_parts({cue: before}) == []
    (fault,) = find_faults_of_parts({cue: after}, {cue: before})
    assert "more than once" in fault.text


@pytest.mark.parametrize("one", [b"[1]", b"5", b'{"levels": 5}', b'"\xff"'])
def test_a_part_that_was_or_is_no_cue_is_judged_as_a_whole(one: bytes) -> None:
    cue, sound = Thing("cue", "1", "1"), b'{"levels": {"101": {"Dimmer": 50}}}'
    for before, after in ((one, sound), (sound, one)):
        found = find_faults_of_parts({cue: after}, {cue: before})
        assert found == find_faults_of_parts({cue: after})
        assert bool(found) == (after is one)


def test_where_very_many_presets_moved_a_fault_beside_them_is_told_as_well() -> None:
    """More of them than are remembered, in more bytes than are read strictly."""
    count = 40
    notes = "n" * 40_000

    def show(page: int, last: str) -> bytes:
        cues = {
            str(number): a_cue(
                {"1": {"ColorAdd_R": {"preset": f"Color {page}.{number}"}}}, notes=notes
            )
            for number in range(1, count)
        }
        cues[str(count)] = a_cue({"1": {"ColorAdd_R": {"preset": last}}})
        return as_bytes(a_show_of_cues(cues))

    before = things(show(1, f"Color 1.{count}"))
    assert find_faults_of_parts(before) == []
    assert find_faults_of_parts(things(show(2, f"Color 2.{count}")), before) == []
    (fault,) = find_faults_of_parts(things(show(2, "Nonsense")), before)
    assert fault.pointer.startswith(f"/cue_lists/1/cues/{count}/levels/1/ColorAdd_R")
