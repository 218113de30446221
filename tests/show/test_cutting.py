"""A show file is cut along its things, and joined byte for byte."""

import pytest

from showvault.show.addressing import Thing
from showvault.show.cutting import (
    cut_into_parts,
    join_parts,
    part_name,
    parts_named_in,
    skeleton_as_json,
    things_named_in,
)
from tests.builders import a_full_show, as_bytes


def test_every_kind_of_thing_is_a_part_of_its_own() -> None:
    cut = cut_into_parts(as_bytes(a_full_show()))
    assert cut is not None
    assert {thing.kind for thing in cut.names} == {
        "curve",
        "fixture_type",
        "fixture",
        "group",
        "preset",
        "effect",
        "macro",
        "submaster",
        "cue",
        "playback",
    }
    assert len(cut.parts) == len(cut.names) == 19
    assert join_parts(cut.skeleton, cut.parts) == as_bytes(a_full_show())


@pytest.mark.parametrize(
    ("thing", "name"),
    [
        (Thing("cue", "12.5", "1"), "cue_lists/1/0/cue-12.5"),
        (Thing("cue", "100", "2"), "cue_lists/2/6/cue-100"),
        (Thing("preset", "Color 1.3"), "presets/color/1.0/preset-1.3"),
        (Thing("preset", "Color 1.20"), "presets/color/1.1/preset-1.20"),
        (Thing("fixture", "101"), "fixtures/6/fixture-101"),
    ],
)
def test_neighbours_share_a_folder_of_about_sixteen(thing: Thing, name: str) -> None:
    assert part_name(thing) == name


@pytest.mark.parametrize(
    "key", ["../../x", "CON", "a/b", "a\0b", "a:b", "x" * 5000, "é", "e\u0301"]
)
def test_a_strangers_key_never_becomes_a_path(key: str) -> None:
    name = part_name(Thing("fixture_type", key))
    assert name.startswith("fixture_types/x")
    assert len(name) < 80
    assert ".." not in name


def test_the_very_bytes_come_back_whatever_the_formatting() -> None:
    data = (
        b'\r\n{"patch" :\t{ "101":{"mode":"a" ,"type":"b"}  , "102" : {}},"patch":{"101": {}},'
        b'"cue_lists":{"1":{"cues":{"5":{"fade_in":3.000},\n\n"5":{"fade_in" : 3e0}}}},'
        b'"x":"\\u0000"} \n'
    )
    cut = cut_into_parts(data)
    assert cut is not None
    assert join_parts(cut.skeleton, cut.parts) == data


def test_equal_things_of_equal_bytes_are_not_taken_for_each_other() -> None:
    """Two cues with the same bytes: searching for the bytes would find the first one twice."""
    data = b'{"cue_lists":{"1":{"cues":{"1":{},"2":{},"3":{"label":"{}"}}},"2":{"cues":{"1":{}}}}}'
    cut = cut_into_parts(data)
    assert cut is not None
    assert list(cut.names) == [
        Thing("cue", "1", "1"),
        Thing("cue", "2", "1"),
        Thing("cue", "3", "1"),
        Thing("cue", "1", "2"),
    ]
    assert join_parts(cut.skeleton, cut.parts) == data


def test_two_presets_whose_names_read_alike_keep_their_bytes() -> None:
    """Class "a b" place "1" and class "a" place "b 1" are both named "a b 1"."""
    data = b'{"presets":{"a b":{"1":{"name":"first"}},"a":{"b 1":{"name":"second"}}}}'
    cut = cut_into_parts(data)
    assert cut is not None
    assert join_parts(cut.skeleton, cut.parts) == data
    assert len(cut.parts) == 1


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"[]",
        b"7",
        b'"text"',
        b"{",
        b'{"patch": {"1": {}}',
        b'{"a": 1} {"b": 2}',
        b'{"notes": "\0"}',
        b"\xef\xbb\xbf{}",
        '{"patch": {}}'.encode("utf-16"),
        b'{"patch": {"1": {"name": "\xff"}}}' + b"\xff",
        b"[" * 200_000,
    ],
)
def test_what_is_not_one_whole_object_is_not_cut(data: bytes) -> None:
    assert cut_into_parts(data) is None


@pytest.mark.parametrize(
    "odd",
    [
        b'"patch": []',
        b'"patch": null',
        b'"presets": {"Color": 5}',
        b'"presets": 5',
        b'"cue_lists": {"1": 5}',
        b'"cue_lists": {"1": {"cues": 5}}',
        b'"cue_lists": 5',
        b'"deep": ' + b"[" * 900 + b"]" * 900,
    ],
)
def test_a_section_that_is_no_object_stays_and_the_others_are_cut(odd: bytes) -> None:
    data = b"{" + odd + b', "groups": {"1": {"name": "all"}}}'
    cut = cut_into_parts(data)
    assert cut is not None
    assert list(cut.names) == [Thing("group", "1")]
    assert join_parts(cut.skeleton, cut.parts) == data


def test_a_part_that_is_missing_is_an_error_and_not_a_hole() -> None:
    cut = cut_into_parts(as_bytes(a_full_show()))
    assert cut is not None
    with pytest.raises(KeyError):
        join_parts(cut.skeleton, {})


def test_the_skeleton_tells_which_parts_and_things_it_joins() -> None:
    cut = cut_into_parts(as_bytes(a_full_show()))
    assert cut is not None
    assert parts_named_in(cut.skeleton) == list(cut.parts)
    assert things_named_in(cut.skeleton) == cut.names
    assert skeleton_as_json(cut.skeleton).count(b"{}") == 19
