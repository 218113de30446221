from datetime import UTC, datetime, timedelta

import pytest

from showvault.watch.alarms import JUMP, ClockWatch, SaveReminder

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
