"""Which version people mean: a number, a label, `latest`, `previous`, or a time as they say it.

A time means the newest good version at or before it. Of versions whose clock was wrong the one
with the latest time counts, so that a clock that once stood in 2019 hides nothing.
"""

import re
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta, tzinfo

from showvault.errors import ShowvaultError
from showvault.vault.store import Store
from showvault.vault.times import parse_time
from showvault.vault.versions import Version, list_versions

DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
NUMBER = re.compile(r"v?(\d{1,9})")
CLOCK = r"(?P<hour>\d{1,2})[:.](?P<minute>\d\d)(?:[:.](?P<second>\d\d))?"
DATED = re.compile(rf"(?P<date>\d{{4}}-\d\d-\d\d)(?:[ t]+{CLOCK})?")
DAY_NAMED = re.compile(rf"(?P<day>today|yesterday|{'|'.join(DAYS)})(?: +(?:at +)?{CLOCK})?")
CLOCK_ALONE = re.compile(rf"(?:at +)?{CLOCK}")
AGO = re.compile(r"(?P<count>\d{1,5}|an?) +(?P<unit>minute|hour|day|week)s? +ago")
UNITS = {
    "minute": timedelta(minutes=1),
    "hour": timedelta(hours=1),
    "day": timedelta(days=1),
    "week": timedelta(weeks=1),
}
NEWEST_NAMED = 3


class VersionNotFoundError(ShowvaultError):
    """No version is what was asked for."""

    exit_code = 4

    def __init__(self, wanted: str, newest: Sequence[Version]) -> None:
        super().__init__(f"no version is meant by {wanted!r}")
        self.wanted = wanted
        self.hint = "nothing has been kept yet"
        if newest:
            named = ", ".join(
                f"{version.number} ({version.moment:%Y-%m-%d %H:%M})" for version in newest
            )
            self.hint = (
                f"the newest are {named}; say a number, a label, latest, previous, or a time: 22:15"
            )


class NothingSoOldError(VersionNotFoundError):
    """The time that was asked for is before the first good version."""

    def __init__(self, wanted: str, moment: datetime, versions: Sequence[Version]) -> None:
        ShowvaultError.__init__(
            self, f"nothing was kept at or before {wanted!r}, which means {moment:%Y-%m-%d %H:%M}"
        )
        self.wanted = wanted
        first = min(
            (version for version in versions if version.good),
            key=lambda version: (version.time, version.number),
        )
        self.hint = f"the first is version {first.number} ({first.moment:%Y-%m-%d %H:%M})"


def resolve(store: Store, text: str, *, now: datetime, tz: tzinfo | None = None) -> Version:
    """The version that ``text`` means, its labels included.

    ``now`` is an aware time; ``tz`` says what local time is, None: as the machine has it. A number
    and a place come first, so that no label can turn `restore previous` into something else; a
    label comes before a time. Raises VersionNotFoundError.
    """
    versions = list_versions(store)
    wanted = " ".join(text.split()).casefold()
    found = (
        _numbered(versions, wanted)
        or _placed(versions, wanted)
        or _labelled(versions, wanted)
        or _timed(versions, wanted, now, tz)
    )
    if found is not None:
        return found
    moment = read_moment(text, now=now, tz=tz)
    if moment is not None and any(version.good for version in versions):
        raise NothingSoOldError(text, moment, versions)
    raise VersionNotFoundError(text, versions[:NEWEST_NAMED])


def read_moment(text: str, *, now: datetime, tz: tzinfo | None = None) -> datetime | None:
    """The moment that ``text`` says, the later one where a clock shows it twice; None: no time."""
    wanted = " ".join(text.split()).casefold()
    today = _local(now, tz).date()
    if match := AGO.fullmatch(wanted):
        count = 1 if match["count"].startswith("a") else int(match["count"])
        return now - count * UNITS[match["unit"]]
    if match := CLOCK_ALONE.fullmatch(wanted):
        moment = _at(today, match, tz)
        # The running minute has come already, though its last second has not.
        if moment is not None and (moment if match["second"] else moment.replace(second=0)) > now:
            moment = _at(today - timedelta(days=1), match, tz)
        return moment
    if match := DAY_NAMED.fullmatch(wanted):
        return _at(_named_day(match["day"], today), match, tz)
    if match := DATED.fullmatch(wanted):
        try:
            return _at(date.fromisoformat(match["date"]), match, tz)
        except ValueError:
            return None
    return _as_programs_say(wanted)


def _as_programs_say(wanted: str) -> datetime | None:
    """A moment with its offset (RFC 3339), as `list` prints it."""
    try:
        moment = datetime.fromisoformat(wanted.upper())
    except ValueError:
        return None
    return None if moment.tzinfo is None else moment


def _labelled(versions: Sequence[Version], wanted: str) -> Version | None:
    for version in versions:
        if any(" ".join(label.split()).casefold() == wanted for label in version.labels):
            return version
    return None


def _numbered(versions: Sequence[Version], wanted: str) -> Version | None:
    match = NUMBER.fullmatch(wanted)
    if match is None:
        return None
    number = int(match[1])
    return next((version for version in versions if number == version.number > 0), None)


def _placed(versions: Sequence[Version], wanted: str) -> Version | None:
    place = {"latest": 0, "previous": 1}.get(wanted)
    good = [version for version in versions if version.good]
    return good[place] if place is not None and place < len(good) else None


def _timed(
    versions: Sequence[Version], wanted: str, now: datetime, tz: tzinfo | None
) -> Version | None:
    moment = read_moment(wanted, now=now, tz=tz)
    if moment is None:
        return None
    earlier = [v for v in versions if v.good and parse_time(v.time) <= moment]
    return max(earlier, key=lambda version: (version.time, version.number), default=None)


def _local(moment: datetime, tz: tzinfo | None) -> datetime:
    return moment.astimezone(tz)


def _named_day(name: str, today: date) -> date:
    if name == "today":
        return today
    if name == "yesterday":
        return today - timedelta(days=1)
    back = (today.weekday() - DAYS.index(name)) % 7
    return today - timedelta(days=back or 7)


def _at(day: date, match: "re.Match[str]", tz: tzinfo | None) -> datetime | None:
    """A day and the clock in ``match``; without one the whole day is meant: its last second.

    A clock without seconds means the whole minute: 22:15 includes a save at 22:15:40.
    """
    if match["hour"] is None:
        clock = time(23, 59, 59)
    else:
        try:
            second = 59 if match["second"] is None else int(match["second"])
            clock = time(int(match["hour"]), int(match["minute"]), second)
        except ValueError:
            return None
    naive = datetime.combine(day, clock.replace(fold=1))
    try:
        return naive.astimezone() if tz is None else naive.replace(tzinfo=tz)
    except (OverflowError, OSError, ValueError):
        return None
