"""The show file that is being worked on, replaced so that nothing is lost."""

import pytest

from showvault.flows.rewriting import (
    ChangedMeanwhileError,
    NoCurrentShowError,
    read_current,
    replace_current,
)
from showvault.flows.stored import show_of_version
from showvault.show.reading import NotUnderstoodError, NotWholeError
from tests.flows.rooms import Room, a_save


def test_what_is_replaced_and_the_result_are_versions(room: Room):
    show = room.save(a_save(50))
    room.keep(show)
    room.save(a_save(60))
    current = read_current(room.keeper)
    written = replace_current(room.keeper, current, a_save(70), "edited", when=room.clock())
    assert show.read_bytes() == a_save(70)
    assert written.replaced is not None
    assert show_of_version(room.vault.store, written.replaced) == a_save(60)
    assert written.version is not None
    assert written.version.summary == "edited"


def test_a_file_that_changed_meanwhile_is_left_alone(room: Room):
    show = room.save(a_save(50))
    room.keep(show)
    current = read_current(room.keeper)
    room.save(a_save(65))
    with pytest.raises(ChangedMeanwhileError):
        replace_current(room.keeper, current, a_save(70), "edited", when=room.clock())
    assert show.read_bytes() == a_save(65)


def test_an_empty_vault_has_no_current_show(room: Room):
    with pytest.raises(NoCurrentShowError):
        read_current(room.keeper)


@pytest.mark.parametrize("data", [b"[]", a_save(50)[:-20]])
def test_what_is_no_show_any_more_is_refused_by_its_name_and_left_alone(room: Room, data: bytes):
    room.keep(room.save(a_save(50)))
    show = room.save(data)
    with pytest.raises((NotUnderstoodError, NotWholeError), match=r"^evening\.json is not "):
        read_current(room.keeper)
    assert show.read_bytes() == data
