"""A show written where something may stand already: nothing is overwritten that is not kept."""

import pytest

from showvault.flows.placing import StandsThereError, place_anew, place_over
from showvault.flows.stored import show_of_version
from tests.flows.rooms import Room, a_save


def test_a_file_is_written_where_none_is(room: Room):
    placed = place_anew(room.shows / "merged.json", a_save(70))
    assert placed.path.read_bytes() == a_save(70)
    assert (placed.replaced, placed.version) == ((), None)


def test_without_a_vault_what_stands_there_stays(room: Room):
    show = room.save(a_save(50))
    with pytest.raises(StandsThereError):
        place_anew(show, a_save(70))
    assert show.read_bytes() == a_save(50)


def test_what_stood_there_and_what_was_written_are_versions(room: Room):
    show = room.save(a_save(50))
    room.keep(show)
    room.save(a_save(60))
    placed = place_over(room.keeper, show, a_save(70), "merged", when=room.clock())
    assert show.read_bytes() == a_save(70)
    store = room.vault.store
    assert [show_of_version(store, one) for one in placed.replaced] == [a_save(60)]
    assert placed.version is not None
    assert placed.version.summary == "merged"
    assert show_of_version(store, placed.version) == a_save(70)


def test_what_is_not_whole_is_set_aside_before_it_goes(room: Room):
    room.keep(room.save(a_save(50)))
    broken = room.save(a_save(60)[:-40], "merged.json")
    placed = place_over(room.keeper, broken, a_save(70), "merged", when=room.clock())
    assert [one.good for one in placed.replaced] == [False]
    assert broken.read_bytes() == a_save(70)
