import os
import sys

import pytest

from showvault.flows.by_hand import NothingToKeepError, require_saves, snapshot
from showvault.flows.outcomes import Saying
from tests.flows.rooms import Room, a_save
from tests.vault.builders import START


def take(room: Room):
    return snapshot(room.keeper, [room.shows], when=START, saying=Saying(note="by hand"))


def test_everything_that_lies_there_is_kept_with_its_note(room: Room):
    room.save(a_save(50))
    room.save(b"desk", "evening.desk")
    taken = take(room)
    assert [kept.version.number for kept in taken.kept] == [1, 1]
    assert taken.newest is not None
    assert taken.newest.note == "by hand"
    assert take(room).kept == ()


def test_what_is_not_whole_is_set_aside_and_hides_nothing(room: Room):
    room.save(a_save(50))
    room.save(b'{"format"', "half.json")
    taken = take(room)
    assert [path.name for path in (one.path for one in taken.set_aside)] == ["half.json"]
    assert taken.newest is not None
    assert taken.newest.good


@pytest.mark.skipif(sys.platform == "win32" or os.geteuid() == 0, reason="root reads everything")
def test_a_file_that_may_not_be_read_is_told_and_holds_up_no_other(room: Room):
    room.save(a_save(50))
    room.save(b"desk", "closed.desk").chmod(0)
    taken = take(room)
    assert [path.name for path, _ in taken.failed] == ["closed.desk"]
    assert len(taken.kept) == 1


def test_a_file_too_big_to_be_read_is_told_and_holds_up_no_other(room: Room):
    room.save(a_save(50))
    with (room.shows / "endless.desk").open("wb") as file:
        file.truncate(2**42)
    taken = take(room)
    ((path, error),) = taken.failed
    assert path.name == "endless.desk"
    assert "at most" in str(error)
    assert len(taken.kept) == 1


def test_where_nothing_lies_nothing_is_kept_and_that_is_said(room: Room):
    with pytest.raises(NothingToKeepError):
        take(room)
    with pytest.raises(NothingToKeepError):
        require_saves(room.shows)
    room.save(a_save(50))
    require_saves(room.shows)
    require_saves(room.shows / "not there yet")
