"""A show as things and their bytes."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvault.show.addressing import Thing
from showvault.show.cutting import cut_into_parts
from showvault.show.parts import ShowParts, cut_file, parts_of, parts_of_file, parts_of_files
from showvault.show.reading import NotUnderstoodError, NotWholeError
from showvault.show.trees import parse_part
from tests.builders import a_cue, a_full_show, a_show_of_cues, as_bytes
from tests.strategies import Tree, shows


def test_the_parts_of_a_file_are_its_things_with_their_bytes() -> None:
    show = a_show_of_cues({"1": a_cue(label="first"), "2": a_cue()}, title="Evening")
    parts = parts_of_file(as_bytes(show))
    assert Thing("fixture", "101") in parts.parts
    assert parse_part(parts.parts[Thing("cue", "1", "1")].data) == a_cue(label="first")
    assert parts.outline["title"] == "Evening"
    assert parts.outline["cue_lists"]["1"]["cues"] == {"1": {}, "2": {}}


def test_parts_with_equal_keys_have_equal_bytes() -> None:
    one, other = a_full_show(), a_full_show()
    other["cue_lists"]["1"]["cues"]["2"]["label"] = "Storm ends"
    before, after = parts_of_file(as_bytes(one)).parts, parts_of_file(as_bytes(other)).parts
    unequal = {thing for thing in before if before[thing].key != after[thing].key}
    assert unequal == {Thing("cue", "2", "1")}


def test_equal_parts_of_two_files_are_known_to_be_equal_without_a_look() -> None:
    show = a_full_show()
    before = as_bytes(show)
    show["cue_lists"]["1"]["cues"]["2"]["label"] = "Storm ends"
    old, new = parts_of_files(before, as_bytes(show))
    shared = {thing for thing in old.parts if new.parts[thing].key is old.parts[thing].key}
    assert set(old.parts) - shared == {Thing("cue", "2", "1")}


@given(shows, st.data())
def test_two_files_read_along_each_other_have_the_parts_of_each(
    show: Tree, data: st.DataObject
) -> None:
    """Whatever was done to the bytes: a damaged file is told as such all the same."""
    before = as_bytes(show)
    start = data.draw(st.integers(0, len(before)))
    end = data.draw(st.integers(start, min(len(before), start + 40)))
    after = before[:start] + data.draw(st.binary(max_size=20)) + before[end:]
    try:
        alone = parts_of_file(after)
    except (NotWholeError, NotUnderstoodError) as error:
        with pytest.raises(type(error)):
            parts_of_files(before, after)
    else:
        assert held(parts_of_files(before, after)[1]) == held(alone)


def held(show: ShowParts) -> Tree:
    return show.outline, {thing: part.data for thing, part in show.parts.items()}


def test_the_keys_of_parts_can_be_given_as_the_other_side_names_them() -> None:
    cut = cut_into_parts(as_bytes(a_full_show()))
    assert cut is not None
    keyed = parts_of(cut, {name: f"key of {name}" for name in cut.parts})
    macro = Thing("macro", "1.1")
    assert keyed.parts[macro].key == f"key of {cut.names[macro]}"
    assert keyed.parts[macro].data == cut.parts[cut.names[macro]]


def test_a_show_that_is_understood_in_part_has_parts() -> None:
    show = a_full_show()
    show["cue_lists"]["1"]["cues"]["2"]["fade_in"] = "three"
    show["groups"] = 5
    assert Thing("cue", "2", "1") in parts_of_file(as_bytes(show)).parts


def test_a_show_with_bytes_that_are_no_utf_8_has_parts() -> None:
    data = as_bytes(a_show_of_cues({"1": a_cue(label="caf~")}, title="caf~"))
    parts = parts_of_file(data.replace(b"~", b"\xe9"))
    assert parts.outline["title"] == "caf\ufffd"
    assert parse_part(parts.parts[Thing("cue", "1", "1")].data)["label"] == "caf\ufffd"


def test_a_file_cut_short_is_refused_by_its_name() -> None:
    with pytest.raises(NotWholeError, match=r"evening\.json is not whole"):
        parts_of_file(as_bytes(a_full_show())[:-9], "evening.json")


@pytest.mark.parametrize("data", [b"[]", b"7", b"\xef\xbb\xbf" + as_bytes(a_full_show())])
def test_a_document_that_is_no_show_is_refused_by_its_name(data: bytes) -> None:
    with pytest.raises(NotUnderstoodError, match=r"evening\.json is not understood"):
        parts_of_file(data, "evening.json")


def test_a_file_that_is_to_be_cut_is_refused_by_its_name_as_well() -> None:
    with pytest.raises(NotWholeError, match=r"evening\.json is not whole"):
        cut_file(as_bytes(a_full_show())[:-9], "evening.json")
    with pytest.raises(NotUnderstoodError, match=r"evening\.json is not understood"):
        cut_file(b"[]", "evening.json")
    assert cut_file(as_bytes(a_full_show()), "evening.json").parts
