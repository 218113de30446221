"""The inverse of chosen changes, in the show as it is now."""

import pytest

from showvault.compare.differ import compare_shows
from showvault.flows.undo import (
    NoSuchChangeError,
    NothingToUndoError,
    Undone,
    choose_changes,
    undo,
)
from showvault.merge.conflicts import always, leave_open
from showvault.show.parts import parts_of_file
from showvault.show.trees import parse_part
from tests.builders import Tree, as_bytes
from tests.flows.test_bring_back import current_show, evening
from tests.merge.three_sides import Edit, cues, edited, renumber


def undone(*numbers: int, edit: Edit, since: Edit = lambda show: None, decide=leave_open) -> Undone:
    version = edited(evening(), edit)
    before, after = as_bytes(evening()), as_bytes(version)
    whole = compare_shows(parts_of_file(before), parts_of_file(after))
    chosen = choose_changes(whole, numbers, 3)
    return undo(after, chosen, current_show(edited(version, since)), decide)


def two_edits(show: Tree) -> None:
    cues(show)["1"]["fade_in"] = 9
    cues(show)["2"]["levels"]["101"]["Dimmer"] = 99


def test_everything_a_version_changed_can_be_undone():
    assert parse_part(undone(edit=two_edits).data) == evening()


def test_one_change_is_undone_by_its_number_and_the_rest_stays():
    show = parse_part(undone(1, edit=two_edits).data)
    assert show == edited(evening(), lambda s: cues(s)["2"]["levels"]["101"].update(Dimmer=99))


def test_what_was_edited_later_stays():
    def since(show):
        cues(show)["1"]["label"] = "Later"
        renumber(show, 10)

    result = undone(edit=two_edits, since=since)
    assert result.conflicts == ()
    assert parse_part(result.data) == edited(evening(), since)


def test_a_later_edit_of_the_same_value_is_a_conflict():
    result = undone(edit=two_edits, since=lambda show: cues(show)["1"].update(fade_in=5))
    (conflict,) = result.conflicts
    assert (conflict.base, conflict.mine, conflict.theirs) == (9, 5, 3)
    taken = undone(
        edit=two_edits,
        since=lambda show: cues(show)["1"].update(fade_in=5),
        decide=always("theirs"),
    )
    assert parse_part(taken.data) == evening()


def test_a_removed_cue_comes_back_and_a_renumbering_goes_back():
    assert parse_part(undone(edit=lambda show: cues(show).pop("3")).data) == evening()
    assert parse_part(undone(edit=lambda show: renumber(show, 10)).data) == evening()


def test_what_looks_different_is_told():
    result = undone(edit=two_edits)
    assert [effect.cue.id for effect in result.effects] == ["2", "3", "4"]


def test_a_number_that_no_change_has_is_refused():
    with pytest.raises(NoSuchChangeError, match="no change 3"):
        undone(3, edit=two_edits)


def test_a_version_that_changed_nothing_cannot_be_undone():
    with pytest.raises(NothingToUndoError):
        undone(edit=lambda show: None)
