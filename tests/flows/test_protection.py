import contextlib
import dataclasses
import os
import sys
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

import msgspec
import pytest
from msgspec.structs import replace

from showvault.files.lock import Holder
from showvault.files.reading import LIMIT, read_settled
from showvault.flows.protection import desk_file_ahead, look_at_protection
from showvault.vault.publishing import publish_version
from showvault.vault.versions import VersionFile
from tests.fakes import without_the_rights_of_root
from tests.flows.rooms import Room, a_save, open_room
from tests.vault.builders import START, pending


def test_without_a_watcher_nothing_is_protected(room: Room):
    room.keep(room.save(a_save(50)))
    protection = look_at_protection(room.vault)
    assert not protection.protected
    assert protection.newest_good is not None
    assert protection.newest_good.number == 1
    assert protection.ring == 1


def test_a_watcher_protects_while_its_folder_is_there(room: Room):
    with room.vault.watch_lock():
        assert look_at_protection(room.vault).protected
        room.shows.rename(room.shows.with_name("away"))
        protection = look_at_protection(room.vault)
        assert not protection.protected
        assert protection.missing == (room.shows,)


def in_a_minute() -> datetime:
    return datetime.now(UTC) + timedelta(minutes=1)


def test_a_watcher_that_has_not_kept_what_rests_for_long_does_not_protect(room: Room):
    """The disk of the vault is full, say: the watcher lives, and nothing is kept."""
    room.keep(room.save(a_save(50)))
    with room.vault.watch_lock() as lock:
        room.save(a_save(65))
        room.vault.clock = lambda: datetime.now(UTC)
        protection = look_at_protection(room.vault)
        assert (protection.protected, protection.late) == (True, ())
        room.vault.clock = in_a_minute
        protection = look_at_protection(room.vault)
        assert (protection.protected, protection.late) == (False, protection.unkept)
        began = in_a_minute() - timedelta(seconds=5)
        holder = Holder(lock.descriptor, "desk", began.isoformat(), "showvault watch")
        text = room.vault.paths.locks / "watcher.holder"
        text.write_bytes(msgspec.json.encode(holder))
        assert look_at_protection(room.vault).protected  # one that began just now may keep it yet
        text.write_bytes(b"?")
        assert not look_at_protection(room.vault).protected
        room.keep(room.shows / "evening.json")
        assert look_at_protection(room.vault).protected


def test_what_is_too_large_for_any_version_is_named_and_takes_nobodys_protection(room: Room):
    room.keep(room.save(a_save(50)))
    large = room.shows / "recording.bin"
    with room.vault.watch_lock(), large.open("wb") as file:
        file.truncate(LIMIT + 1)
        room.vault.clock = in_a_minute
        protection = look_at_protection(room.vault)
        assert (protection.protected, protection.unkept) == (True, (large,))


def test_a_file_in_the_place_of_a_folder_of_saves_is_not_protected(room: Room):
    room.keep(room.save(a_save(50)))
    room.shows.rename(room.shows.with_name("away"))
    room.shows.write_bytes(b"")
    with room.vault.watch_lock():
        assert look_at_protection(room.vault).missing == (room.shows,)


def test_a_place_that_cannot_even_be_looked_at_is_not_protected(room: Room):
    nowhere = room.shows / ("x" * 400)
    room.vault.description = replace(room.vault.description, watched=(str(nowhere),))
    assert look_at_protection(room.vault).missing == (nowhere,)


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such permissions")
def test_a_folder_nobody_may_look_into_is_named_and_missed_where_saves_lay_in_it():
    """Such as the `lost+found` of a medium: it is named, and costs no protection."""
    with tempfile.TemporaryDirectory() as name:
        Path(name).chmod(0o777)
        with without_the_rights_of_root(), contextlib.closing(open_room(Path(name))) as rooms:
            room = next(rooms)
            inner = {name: room.shows / name for name in ("act 1", "listed", "lost+found")}
            for folder in inner.values():
                folder.mkdir()
            room.keep(room.save(a_save(50), "act 1/evening.json"), room.save(b"closed", "a.desk"))
            room.save(b"x", "listed/b.json")
            inner["listed"].chmod(0o444)
            inner["lost+found"].chmod(0)
            with room.vault.watch_lock():
                protection = look_at_protection(room.vault)
                assert (protection.protected, protection.missing) == (True, ())
                assert protection.unreadable == (inner["lost+found"],)
                inner["act 1"].chmod(0)
                protection = look_at_protection(room.vault)
                assert (protection.protected, protection.missing) == (False, (inner["act 1"],))
            for folder in inner.values():
                folder.chmod(0o700)


def test_a_save_that_no_version_holds_is_named(room: Room):
    room.keep(room.save(a_save(50)))
    late = room.save(a_save(65), "evening2.json")
    assert look_at_protection(room.vault).unkept == (late,)


def test_a_save_written_again_or_brought_back_is_not_named(room: Room):
    show = room.save(a_save(50))
    room.keep(show)
    room.keep(room.save(a_save(65)))
    for data in (a_save(65), a_save(50)):
        show.write_bytes(data)
        later = START.timestamp() + 90_000
        os.utime(show, (later, later))
        assert look_at_protection(room.vault).unkept == ()


def test_a_file_that_lies_there_as_it_was_set_aside_is_named(room: Room):
    room.keep(room.save(a_save(50)))
    half = room.save(b'{"format"')
    room.keeper.set_aside(read_settled(half), "cut", when=room.clock())
    protection = look_at_protection(room.vault)
    assert (protection.unkept, protection.broken) == ((), (half,))


def test_the_empty_place_that_a_pulled_stick_leaves_is_not_protected(room: Room):
    show = room.save(a_save(50))
    room.keep(show)
    with room.vault.watch_lock():
        show.unlink()
        assert not look_at_protection(room.vault).protected


def test_the_last_version_of_the_show_itself_is_found_behind_one_of_a_desk_file(room: Room):
    room.keep(room.save(a_save(50)))
    room.keep(room.save(a_save(65)), room.save(b"closed", "evening.desk"))
    room.keep(room.save(b"closed again", "evening.desk"))
    protection = look_at_protection(room.vault)
    assert protection.newest_good is not None and protection.newest_show is not None
    assert (protection.newest_good.number, protection.newest_show.number) == (3, 2)


def test_a_vault_of_desk_files_alone_has_no_version_of_a_show(room: Room):
    room.keep(room.save(b"closed", "evening.desk"))
    assert look_at_protection(room.vault).newest_show is None


def test_a_desk_file_newer_than_its_export_is_told_with_how_much(room: Room):
    show, closed = room.save(a_save(50)), room.save(b"closed", "evening.desk")
    room.keep(show, closed)
    moment = show.stat().st_mtime
    os.utime(closed, (moment + 12_600, moment + 12_600))
    ahead = look_at_protection(room.vault).ahead
    assert ahead is not None
    assert ahead.lag == timedelta(hours=3, minutes=30)


def test_a_desk_file_saved_with_its_export_is_not_ahead(room: Room):
    show, closed = room.save(a_save(50)), room.save(b"closed", "evening.desk")
    moment = show.stat().st_mtime
    os.utime(closed, (moment + 5, moment + 5))
    room.keep(show, closed)
    assert look_at_protection(room.vault).ahead is None


@pytest.mark.parametrize("name", ["rig.mvr", "Hookup.PDF", "notes.txt"])
def test_what_lies_beside_a_show_and_is_no_desk_file_is_never_ahead(room: Room, name: str):
    show, beside = room.save(a_save(50)), room.save(b"beside", name)
    room.keep(show, beside)
    later = show.stat().st_mtime + 12_600
    os.utime(beside, (later, later))
    assert look_at_protection(room.vault).ahead is None


@pytest.mark.parametrize("saved_ns", [10**21, -(10**21), 10**400, 1])
def test_a_file_of_any_time_is_told(room: Room, saved_ns: int):
    """A file system may hold the year 33658, and a stranger's record any number."""
    kept = room.keep(room.save(a_save(50)), room.save(b"desk", "evening.desk"))
    files = [replace(file, saved_ns=saved_ns) for file in kept.version.files]
    assert desk_file_ahead(replace(kept.version, files=tuple(files))) is None
    desk_alone = [replace(file, saved_ns=1) for file in files[:1]] + files[1:]
    ahead = desk_file_ahead(replace(kept.version, files=tuple(desk_alone)))
    assert (ahead is not None) == (saved_ns > 10**18)


def test_a_save_of_a_size_that_no_version_has_is_named_without_being_read(room: Room):
    room.keep(room.save(a_save(50)))
    late = room.save(a_save(50) + b"\n")
    assert look_at_protection(room.vault).unkept == (late,)


def test_a_file_that_cannot_be_read_counts_as_not_kept_and_stops_nothing(room: Room):
    """It is too large to be read, and as large as one that a version tells of."""
    large = room.shows / "recording.bin"
    with large.open("wb") as file:
        file.truncate(LIMIT + 1)
    before = pending(room.vault, {}, data=b"desk", path="/elsewhere/recording.bin", role="opaque")
    other = VersionFile(
        path="/elsewhere/old.bin", name="old.bin", size=LIMIT + 1, sha256="0" * 64, role="opaque"
    )
    publish_version(room.vault, dataclasses.replace(before, files=(*before.files, other)))
    assert look_at_protection(room.vault).unkept == (large,)
