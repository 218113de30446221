"""Moments as the vault writes them: RFC 3339 in UTC, to the second."""

from datetime import UTC, datetime

FORM = "%Y-%m-%dT%H:%M:%SZ"
EARLIEST = datetime(1970, 1, 1, tzinfo=UTC)
LATEST = datetime(2100, 1, 1, tzinfo=UTC)
"""Git's own check refuses commits dated outside what it can hold; these years are well inside."""


def format_time(moment: datetime) -> str:
    """``moment`` in UTC; outside `EARLIEST` and `LATEST` it is clamped."""
    return min(max(moment.astimezone(UTC), EARLIEST), LATEST).strftime(FORM)


def parse_time(text: str) -> datetime:
    """The moment that ``text`` tells; `EARLIEST` where it tells none."""
    try:
        return datetime.strptime(text, FORM).replace(tzinfo=UTC)
    except ValueError:
        return EARLIEST


def moment_of_file(ns: int) -> datetime:
    """A file's own time, in nanoseconds since 1970; clamped: a file may say anything."""
    earliest, latest = (int(moment.timestamp()) * 10**9 for moment in (EARLIEST, LATEST))
    return datetime.fromtimestamp(min(max(ns, earliest), latest) / 1e9, UTC)
