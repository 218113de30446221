"""A show from its things alone is the one that its file decodes to, or is refused with a place."""

import msgspec
import pytest
from hypothesis import given

from showvault.show.addressing import Thing
from showvault.show.assembling import decode_parts
from showvault.show.model import Show
from showvault.show.parts import LoadedPart, ShowParts, parts_of_file
from showvault.show.reading import NotUnderstoodError, decode_show
from showvault.show.writing import show_as_tree, write_show
from tests.builders import a_cue, a_full_show, a_show_of_cues, as_bytes
from tests.strategies import Tree, shows


def written(show: Show) -> bytes:
    return write_show(show_as_tree(show))


@given(shows)
def test_a_show_from_its_things_is_the_one_from_its_file(show: Tree) -> None:
    data = as_bytes(show)
    assert written(decode_parts(parts_of_file(data))) == written(decode_show(data))


def test_a_thing_that_is_not_understood_is_told_with_its_place() -> None:
    parts = parts_of_file(as_bytes(a_show_of_cues({"12.5": a_cue(fade_in="three")})))
    with pytest.raises(NotUnderstoodError, match=r"evening\.json .*list 1 cue 12\.5: "):
        decode_parts(parts, "evening.json")


@pytest.mark.parametrize(
    "outline", [5, [], {"cue_lists": 5}, {"cue_lists": {"1": 5}}, {"title": 5}]
)
def test_an_outline_that_is_none_is_refused_whatever_stands_in_its_place(outline: Tree) -> None:
    """As a stranger's vault may hold it; no file that was cut has one like it."""
    cue = LoadedPart("key", msgspec.json.encode(a_cue()))
    with pytest.raises(NotUnderstoodError, match=r"evening\.json is not understood: the show: "):
        decode_parts(ShowParts(outline, {Thing("cue", "1", "1"): cue}), "evening.json")


def test_a_number_that_nobody_gave_a_meaning_is_the_one_from_the_file() -> None:
    data = as_bytes(a_show_of_cues({}, extra={"version": 1.5}))
    assert decode_parts(parts_of_file(data)).extra == decode_show(data).extra == {"version": 1.5}


def test_what_the_show_itself_says_comes_along() -> None:
    show = decode_parts(parts_of_file(as_bytes(a_full_show())))
    assert (show.title, show.venue) == ("The Long Night", "the studio")
    assert (show.cue_lists or {})["1"].name == "Main"
