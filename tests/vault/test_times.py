"""Moments as the vault writes them, and those of files."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from showvault.vault.times import EARLIEST, LATEST, format_time, moment_of_file, parse_time


def test_a_moment_is_written_in_utc_to_the_second() -> None:
    """The form of RFC 3339, section 5.6."""
    at = datetime(2026, 11, 24, 22, 15, 40, 999, tzinfo=timezone(timedelta(hours=1)))
    assert format_time(at) == "2026-11-24T21:15:40Z"
    assert parse_time("2026-11-24T21:15:40Z") == at.replace(microsecond=0)


@pytest.mark.parametrize(
    "moment", [datetime(1, 1, 2, tzinfo=UTC), datetime(9998, 1, 1, tzinfo=UTC)]
)
def test_a_clock_that_stands_far_off_is_clamped(moment: datetime) -> None:
    assert parse_time(format_time(moment)) in (EARLIEST, LATEST)


@pytest.mark.parametrize("text", ["", "22:15", "2026-11-24", "2026-13-01T00:00:00Z"])
def test_what_tells_no_time_is_the_earliest(text: str) -> None:
    assert parse_time(text) == EARLIEST


@pytest.mark.parametrize(
    ("ns", "moment"),
    [
        (0, EARLIEST),
        (-(10**30), EARLIEST),
        (10**400, LATEST),
        (1_700_000_000_500_000_000, datetime(2023, 11, 14, 22, 13, 20, 500_000, tzinfo=UTC)),
    ],
)
def test_a_file_may_say_any_time(ns: int, moment: datetime) -> None:
    assert moment_of_file(ns) == moment
