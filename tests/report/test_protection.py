"""What ``status`` says: whether the show is protected comes first, whatever is wrong is loud."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from showvault.files.lock import Holder
from showvault.flows.protection import DeskFileAhead, Protection
from showvault.report.protection import protection_record, protection_text
from showvault.vault.checking import Damage
from showvault.vault.versions import Version

NOW = datetime(2026, 11, 24, 22, 0, tzinfo=UTC)
GOOD = Version(number=4, time="2026-11-24T21:00:00Z", summary="cue 5 looks different")
BROKEN = Version(number=5, time="2026-11-24T21:30:00Z", good=False, reason="cut off")
WATCHER = Holder(123, "desk", "2026-11-24T20:00:00+00:00", "showvault watch")
SHOWS = Path("/shows")


def state(**fields: Any) -> Protection:
    """A show that is protected, but for the fields that are said."""
    usual: dict[str, Any] = {
        "name": "Evening",
        "folder": Path("/vault"),
        "watched": (SHOWS,),
        "missing": (),
        "watcher": WATCHER,
        "newest": GOOD,
        "newest_good": GOOD,
        "newest_show": GOOD,
        "count": 4,
        "ring": 1,
        "last_save": NOW - timedelta(minutes=5),
        "unkept": (),
        "late": (),
        "broken": (),
        "ahead": None,
    }
    return Protection(**{**usual, **fields})


def lines(**fields: Any) -> list[str]:
    return protection_text(state(**fields), NOW).splitlines()


def test_a_protected_show_says_since_when_and_by_what() -> None:
    assert lines() == [
        "PROTECTED: shows, watched by process 123 for 2 h",
        "last good version: 4, 1 h ago: cue 5 looks different",
        "last save seen: 21:55:00",
        "4 versions in /vault, 1 file in its ring",
    ]


def test_a_watcher_that_began_a_moment_ago_or_by_a_clock_ahead_of_ours_is_told() -> None:
    for began in (NOW - timedelta(seconds=1), NOW + timedelta(minutes=9)):
        headline = lines(watcher=Holder(123, "desk", began.isoformat(), "showvault watch"))[0]
        assert headline.endswith("watched by process 123 since just now")


def test_a_watcher_that_keeps_nothing_is_said_first() -> None:
    said = lines(unkept=(SHOWS / "a.json",), late=(SHOWS / "a.json",))
    assert said[0] == (
        "NOT PROTECTED: shows, watched by process 123 for 2 h, but what was saved is NOT KEPT"
    )
    assert "NOT KEPT YET: a.json: showvault watch says why (showvault snapshot keeps it now)" in (
        said
    )
    assert protection_record(state(late=(SHOWS / "a.json",)))["late"] == ["/shows/a.json"]


def test_a_watcher_whose_record_of_itself_is_damaged_is_told_all_the_same() -> None:
    for since in ("?", "2026-11-24T20:00:00"):
        assert lines(watcher=Holder(0, "?", since, "somebody"))[0] == (
            "PROTECTED: shows, watched by process 0"
        )


def test_a_folder_that_nobody_may_look_into_is_named() -> None:
    folder = SHOWS / "lost+found"
    assert f"NOT LOOKED INTO: {folder} (this user may not read it)" in lines(unreadable=(folder,))
    assert protection_record(state(unreadable=(folder,)))["not_looked_into"] == [str(folder)]


def test_a_version_of_a_desk_file_alone_does_not_hide_what_the_show_changed_last() -> None:
    desk = Version(number=5, time="2026-11-24T21:30:00Z", summary="evening.desk saved")
    assert lines(newest=desk, newest_good=desk)[1:3] == [
        "last good version: 5, 30 min ago: evening.desk saved",
        "the show itself: version 4, 1 h ago: cue 5 looks different",
    ]


def test_without_a_watcher_the_first_line_says_how_to_start_one() -> None:
    assert lines(watcher=None)[0] == (
        "NOT PROTECTED: nothing watches shows (start it with: showvault watch)"
    )


def test_a_place_that_is_gone_is_not_protected_though_it_is_watched() -> None:
    said = lines(missing=(SHOWS,))
    assert said[0].startswith("NOT PROTECTED: shows")
    assert said[1] == "NOT THERE: /shows, or what was saved in it, is gone"


def test_a_vault_without_a_version_says_so() -> None:
    said = lines(newest=None, newest_good=None, count=0, last_save=None)
    assert "nothing is kept yet" in said
    assert not any(line.startswith("last save seen") for line in said)


def test_a_broken_save_since_the_last_good_one_is_told() -> None:
    assert any(line.startswith("SET ASIDE since then: version 5") for line in lines(newest=BROKEN))


def test_saves_that_are_not_kept_or_not_whole_are_named() -> None:
    said = lines(unkept=(SHOWS / "new\x1b[2J.json",), broken=(SHOWS / "half.json",))
    assert any(line.startswith("NOT KEPT YET: new\\x1b[2J.json") for line in said)
    assert "NOT WHOLE as it was saved last: half.json. SAVE AGAIN." in said


def test_damage_names_the_command_that_mends_it_and_no_more_than_three() -> None:
    said = lines(damages=tuple(Damage("history", f"the pack {n}\x07") for n in range(5)))
    damaged = [line for line in said if line.startswith("DAMAGED: ")]
    assert damaged[0] == "DAMAGED: the pack 0\\x07 (showvault verify --mend)"
    assert len(damaged) == 3


def test_a_desk_file_that_is_ahead_says_what_is_not_described() -> None:
    ahead = DeskFileAhead(
        SHOWS / "evening.desk", NOW, SHOWS / "evening.json", NOW - timedelta(hours=3, minutes=30)
    )
    (line,) = (line for line in lines(ahead=ahead) if line.startswith("NOT DESCRIBED"))
    assert line.endswith("3 h 30 min not described")
    record = protection_record(state(ahead=ahead))
    assert record["desk_file_ahead"]["lag_seconds"] == 12_600


def test_programs_are_told_the_same() -> None:
    record = protection_record(state(damages=(Damage("ring", "no copy"),), unkept=(SHOWS / "a",)))
    assert record["protected"] is True
    assert record["watcher"]["pid"] == 123
    assert record["newest"]["number"] == record["newest_good"]["number"] == 4
    assert record["damage"] == ["no copy"]
    assert record["not_kept"] == ["/shows/a"]
    assert record["last_save"] == "2026-11-24T21:55:00+00:00"
    nothing = protection_record(state(watcher=None, newest=None, newest_good=None, last_save=None))
    assert nothing["protected"] is False
    assert nothing["watcher"] is nothing["newest"] is nothing["last_save"] is None
