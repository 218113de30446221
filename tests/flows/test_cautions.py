from dataclasses import replace

from msgspec.structs import replace as changed

from showvault.flows.cautions import cautions_on_restoring
from showvault.flows.restore import Restored, restore_in_place
from tests.flows.rooms import Room, a_save
from tests.vault.builders import START


def restored(room: Room) -> Restored:
    room.keep(room.save(a_save(50)))
    first = room.keeper.known.newest_show
    room.keep(room.save(a_save(65)))
    assert first is not None
    return restore_in_place(room.keeper, first, first.files, when=START)


def test_a_show_that_came_back_is_told_with_what_to_mind(room: Room):
    assert cautions_on_restoring(room.vault.store, restored(room))


def test_where_nothing_was_there_before_what_holds_of_every_show_is_said(room: Room):
    back = restored(room)
    assert cautions_on_restoring(room.vault.store, replace(back, before=None))


def test_whatever_fails_the_general_cautions_are_said(room: Room):
    back = restored(room)
    gone = changed(back.source, commit="f" * 40)
    general = cautions_on_restoring(room.vault.store, replace(back, before=None))
    assert cautions_on_restoring(room.vault.store, replace(back, source=gone)) == general


def test_of_a_file_that_is_no_show_nothing_is_said(room: Room):
    kept = room.keep(room.save(b"desk", "evening.desk"))
    back = restore_in_place(room.keeper, kept.version, kept.version.files, when=START)
    assert cautions_on_restoring(room.vault.store, back) == ()
