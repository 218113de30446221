import contextlib
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showvault.vault.asking import (
    NothingSoOldError,
    VersionNotFoundError,
    read_moment,
    resolve,
)
from showvault.vault.labelling import set_label
from showvault.vault.opening import Vault
from tests.vault.builders import keep, make_vault, opened

BERLIN = ZoneInfo("Europe/Berlin")
NOW = datetime(2026, 11, 25, 9, 0, tzinfo=BERLIN)  # a Wednesday


@pytest.fixture(scope="module")
def vault(tmp_path_factory: pytest.TempPathFactory):
    """Saves of two evenings, one of them labelled, the newest but one set aside."""
    saves = [
        ((2026, 11, 23, 18, 0), {"label": "Rehearsal 7"}),
        ((2026, 11, 24, 17, 59), {}),
        ((2026, 11, 24, 22, 15, 40), {}),
        ((2026, 11, 24, 22, 30), {"good": False, "role": "set_aside", "label": "12"}),
        ((2026, 11, 25, 2, 40), {}),
    ]
    with opened(make_vault(tmp_path_factory.mktemp("asking") / "vault")) as vault:
        for number, (when, fields) in enumerate(saves):
            moment = datetime(*when, tzinfo=BERLIN)
            parts = {} if "good" in fields else {"show/n": b"%d" % number}
            keep(vault, parts, time=moment, data=b"%d" % number, **fields)
        yield vault


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("3", 3),
        ("v3", 3),
        (" V3 ", 3),
        ("4", 4),
        ("12", 4),  # a label, as no version has this number
        ("rehearsal  7", 1),
        ("latest", 5),
        ("Previous", 3),
        ("22:15", 3),
        ("22.15", 3),
        ("at 22:15", 3),
        ("22:15:39", 2),
        ("02:40", 5),
        ("2:39", 3),
        ("yesterday 18:00", 2),
        ("yesterday at 18:00", 2),
        ("yesterday", 3),
        ("today", 5),
        ("monday 18:00", 1),
        ("tuesday", 3),
        ("wednesday 23:00", None),  # of last week
        ("2026-11-24 22:15", 3),
        ("2026-11-24T22:15:39", 2),
        ("2026-11-24T21:15:40Z", 3),  # RFC 3339, as `list` gives it to programs
        ("2026-11-24T21:15:39Z", 2),
        ("2026-11-24T22:15:40+01:00", 3),
        ("0001-01-01T00:00:00+14:00", None),
        ("2026-11-24", 3),
        ("2 hours ago", 5),
        ("10 hours ago", 3),
        ("an hour ago", 5),
        ("1 day ago", 1),
        ("3 weeks ago", None),
        ("0", None),
        ("6", None),
        ("99999999999", None),
        ("", None),
        ("25:00", None),
        ("22:75", None),
        ("2026-13-01", None),
        ("0001-01-01 00:00", None),
        ("9999-12-31 23:59", 5),
        ("--all", None),
        ("refs/heads/main", None),
        ("HEAD", None),
    ],
)
def test_what_people_say_means_one_version(vault: Vault, text: str, number: int | None) -> None:
    if number is None:
        with pytest.raises(VersionNotFoundError):
            resolve(vault.store, text, now=NOW, tz=BERLIN)
    else:
        assert resolve(vault.store, text, now=NOW, tz=BERLIN).number == number


def test_a_time_that_is_still_to_come_today_means_yesterday(vault: Vault) -> None:
    late = datetime(2026, 11, 25, 23, 0, tzinfo=BERLIN)
    assert resolve(vault.store, "22:15", now=late, tz=BERLIN).number == 5
    assert resolve(vault.store, "22:15", now=NOW, tz=BERLIN).number == 3


def test_the_minute_that_is_running_means_today(vault: Vault) -> None:
    """Who saves at 02:40:00 and asks for 02:40 at once does not mean the night before."""
    at_once = datetime(2026, 11, 25, 2, 40, 20, tzinfo=BERLIN)
    assert resolve(vault.store, "02:40", now=at_once, tz=BERLIN).number == 5
    assert resolve(vault.store, "02:40:20", now=at_once, tz=BERLIN).number == 5
    assert resolve(vault.store, "02:40:21", now=at_once, tz=BERLIN).number == 1
    assert resolve(vault.store, "02:41", now=at_once, tz=BERLIN).number == 1


def test_a_time_before_the_first_version_is_told_with_what_it_means(vault: Vault) -> None:
    early = datetime(2026, 11, 23, 9, 0, tzinfo=BERLIN)
    with pytest.raises(NothingSoOldError) as caught:
        resolve(vault.store, "22:15", now=early, tz=BERLIN)
    assert "2026-11-22 22:15" in str(caught.value)
    assert caught.value.exit_code == 4
    assert "version 1 (2026-11-23 18:00)" in (caught.value.hint or "")


def test_no_label_takes_the_place_of_a_number_or_a_place(tmp_path: Path) -> None:
    with opened(make_vault(tmp_path / "v")) as vault:
        keep(vault, {"show/n": b"1"}, data=b"1")
        second = keep(vault, {"show/n": b"2"}, data=b"2")
        first = resolve(vault.store, "1", now=NOW)
        for text in ("latest", "previous", "2", "22:15"):
            set_label(vault, first.commit, text, who="Ada")
        assert resolve(vault.store, "latest", now=NOW).commit == second.commit
        assert resolve(vault.store, "2", now=NOW).commit == second.commit
        assert resolve(vault.store, "22:15", now=NOW).commit == first.commit


def test_who_asks_for_nothing_that_is_there_is_told_the_newest(vault: Vault) -> None:
    with pytest.raises(VersionNotFoundError) as caught:
        resolve(vault.store, "opening\x1b[31m", now=NOW, tz=BERLIN)
    assert caught.value.exit_code == 4
    assert "\x1b" not in str(caught.value)
    assert "5 (2026-11-25 02:40), 4 (2026-11-24 22:30), 3" in (caught.value.hint or "")


def test_in_an_empty_vault_nothing_is_meant(tmp_path: Path) -> None:
    with opened(make_vault(tmp_path / "v")) as empty:
        for text in ("latest", "previous", "1", "22:15"):
            with pytest.raises(VersionNotFoundError) as caught:
                resolve(empty.store, text, now=NOW)
            assert "nothing has been kept" in (caught.value.hint or "")


def test_a_version_of_a_clock_that_stood_wrong_hides_no_other(tmp_path: Path) -> None:
    with opened(make_vault(tmp_path / "v")) as vault:
        keep(vault, {"show/n": b"1"}, time=datetime(2026, 11, 24, 22, 0, tzinfo=UTC))
        keep(vault, {"show/n": b"2"}, time=datetime(2019, 1, 1, tzinfo=UTC))
        now = datetime(2026, 11, 24, 23, 0, tzinfo=UTC)
        assert resolve(vault.store, "22:30", now=now, tz=UTC).number == 1
        assert resolve(vault.store, "latest", now=now, tz=UTC).number == 2


def test_the_hour_that_comes_twice_means_its_second_time() -> None:
    """25 October 2026, 03:00 CEST = 02:00 CET (Directive 2000/84/EC: last Sunday of October)."""
    now = datetime(2026, 10, 25, 12, 0, tzinfo=BERLIN)
    moment = read_moment("02:30:00", now=now, tz=BERLIN)
    assert moment is not None
    assert moment.astimezone(UTC) == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)


def test_the_machines_own_rules_are_used_when_no_zone_is_given() -> None:
    now = datetime.now().astimezone()
    moment = read_moment("00:00:00", now=now)
    assert moment is not None
    assert timedelta(0) <= now - moment <= timedelta(hours=25)


@settings(max_examples=100, deadline=None)
@given(st.one_of(st.text(), st.from_regex(r"[0-9v:. \-tagoyesrdmn]{0,20}", fullmatch=True)))
def test_any_text_is_a_version_or_is_told(vault: Vault, text: str) -> None:
    with contextlib.suppress(VersionNotFoundError):
        resolve(vault.store, text, now=NOW, tz=BERLIN)


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="the zone cannot be set there")
@pytest.mark.parametrize(
    ("zone", "text"), [("XST-14", "0001-01-01 00:00"), ("XST+12", "9999-12-31 23:59")]
)
def test_a_date_that_the_machines_own_rules_do_not_reach_is_no_time(
    vault: Vault, monkeypatch: pytest.MonkeyPatch, zone: str, text: str
) -> None:
    """In UTC it lies before the year 1, or after 9999 (zones as POSIX writes them)."""
    monkeypatch.setenv("TZ", zone)
    time.tzset()
    try:
        with pytest.raises(VersionNotFoundError, match="no version is meant by"):
            resolve(vault.store, text, now=NOW)
    finally:
        monkeypatch.undo()
        time.tzset()
