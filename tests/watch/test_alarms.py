import os
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from showvault.flows.protection import find_lag
from showvault.watch.alarms import (
    EXPORT_PATIENCE,
    JUMP,
    BlindSpots,
    ClockWatch,
    ExportWatch,
    SaveReminder,
    VaultWatch,
)
from showvault.watch.events import DeskFileAhead, FolderAway, FolderBack
from tests.flows.rooms import Room, a_save, open_room

NOW = datetime(2026, 11, 25, 20, 0, tzinfo=UTC)


def test_a_reminder_that_comes_late_says_the_true_minutes_and_does_not_pile_up() -> None:
    reminder = SaveReminder(20, 0.0, NOW)
    told = reminder.remind(65 * 60.0, NOW)
    assert told is not None
    assert (told.minutes, told.since) == (65, NOW)
    assert reminder.remind(66 * 60.0, NOW) is None
    assert reminder.next_wake() == 80 * 60.0


@pytest.mark.parametrize(("seconds", "told"), [(JUMP, False), (-JUMP, False), (JUMP + 1, True)])
def test_a_jump_is_told_beyond_a_minute(seconds: float, told: bool) -> None:
    clocks = ClockWatch(0.0, NOW)
    assert (clocks.compare(5.0, NOW + timedelta(seconds=5 + seconds)) is not None) == told


def test_a_clock_that_runs_a_little_fast_never_jumps() -> None:
    clocks = ClockWatch(0.0, NOW)
    for step in range(1, 1000):
        assert clocks.compare(step * 15.0, NOW + timedelta(seconds=step * 15.5)) is None


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Room]:
    yield from open_room(tmp_path)


def test_a_desk_file_that_was_kept_ahead_of_its_export_is_told_once_with_how_much(
    room: Room,
) -> None:
    """As the flow finds it in the newest version, and not only as a stand-in says it."""
    show, desk = room.save(a_save(50)), room.save(b"closed", "evening.desk")
    later = show.stat().st_mtime + 12_600
    os.utime(desk, (later, later))
    version = room.keep(show, desk).version
    exports = ExportWatch(lambda: find_lag(version))
    exports.saw_version(0.0)
    assert exports.ask(EXPORT_PATIENCE - 1, NOW) is None
    assert exports.ask(EXPORT_PATIENCE, NOW) == DeskFileAhead(
        time=NOW, desk_file=desk, export=show, seconds=12_600.0
    )
    assert exports.ask(EXPORT_PATIENCE + 1, NOW) is None


def test_a_folder_that_cannot_be_looked_into_is_told_once_and_again_after_it_could_be() -> None:
    unreadable = [Path("/shows/b"), Path("/shows/a")]
    spots = BlindSpots(lambda: unreadable)
    told = [note.text for note in spots.look(NOW)]
    assert [text.partition(" is not looked into: this user")[0] for text in told] == [
        "/shows/a",
        "/shows/b",
    ]
    assert "what is saved there is NOT KEPT" in told[0]
    assert list(spots.look(NOW)) == []
    back = unreadable.pop()
    assert list(spots.look(NOW)) == []
    unreadable.append(back)
    assert [note.text for note in spots.look(NOW)] == told[:1]


def test_a_vault_that_is_gone_is_told_once_and_when_it_is_back() -> None:
    there = [True, False, False, True]
    watch = VaultWatch(Path("/vault"), lambda: there.pop(0))
    told = [list(watch.look(second, NOW)) for second in (0.0, 1.0, 2.0, 4.0, 6.0)]
    assert [[type(event) for event in events] for events in told] == [
        [],
        [],  # not looked at yet
        [FolderAway],
        [],
        [FolderBack],
    ]
    assert list(VaultWatch(None, lambda: False).look(0.0, NOW)) == []
