"""Every event is a line; what is not protected is an alarm; nothing in a name steers a terminal."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import get_args

import pytest

from showvault.report.terminal import safe
from showvault.watch.events import (
    ClockJumped,
    DeskFileAhead,
    Finishing,
    FolderAway,
    FolderBack,
    FolderReplaced,
    GoneUnkept,
    Kept,
    KeptElsewhere,
    Mended,
    Note,
    NotReadableYet,
    Polling,
    Ready,
    Recovered,
    Reminder,
    SavedUnchanged,
    SetAside,
    Skipped,
    SlowToSettle,
    Stopped,
    Trouble,
    WatchEvent,
)
from showvault.watch.telling import CalmLine, say_event

NOW = datetime(2026, 11, 25, 20, 0, tzinfo=UTC)
HOSTILE = "night\x1b]52;c;AA\x07\r\u202e"
SHOW = Path(f"/shows/{HOSTILE}.json")
DESK = Path(f"/shows/{HOSTILE}.desk")

CASES: list[tuple[WatchEvent, str, str]] = [
    (Ready(time=NOW, watched=(SHOW,), polling=False), "calm", "everything saved before is safe"),
    (Ready(time=NOW, watched=(SHOW,), polling=True), "calm", "looking every few seconds"),
    (
        Kept(time=NOW, number=7, path=SHOW, sha256="ab", summary=HOSTILE, notes=(HOSTILE,)),
        "calm",
        "kept 7",
    ),
    (KeptElsewhere(time=NOW, number=7, summary=HOSTILE), "calm", "kept 7  by another command"),
    (SetAside(time=NOW, number=8, path=SHOW, reason=HOSTILE), "alarm", "SET ASIDE 8"),
    (
        SetAside(time=NOW, number=8, path=SHOW, reason=HOSTILE, whole_before=False),
        "alarm",
        "NOTHING WHOLE OF IT IS PROTECTED YET",
    ),
    (
        Ready(time=NOW, watched=(SHOW,), polling=False, not_whole=(SHOW,)),
        "alarm",
        "NOT WHOLE",
    ),
    (NotReadableYet(time=NOW, path=SHOW, reason=HOSTILE), "notice", "not whole yet"),
    (SavedUnchanged(time=NOW, path=SHOW), "calm", "kept already"),
    (SlowToSettle(time=NOW, path=SHOW, seconds=60.0), "notice", "changing for"),
    (Skipped(time=NOW, path=SHOW, reason=HOSTILE), "notice", "not kept"),
    (
        Trouble(time=NOW, paths=(SHOW,), message=HOSTILE, again_in=2.0),
        "alarm",
        "Trying again in 2 s",
    ),
    (Recovered(time=NOW), "notice", "kept now"),
    (GoneUnkept(time=NOW, path=SHOW), "alarm", "LOST"),
    (Finishing(time=NOW, left=(SHOW,), seconds=7.0), "notice", "Ctrl-C again"),
    (Stopped(time=NOW), "calm", "stopped watching"),
    (Stopped(time=NOW, left=(SHOW,)), "alarm", "NOT KEPT"),
    (FolderAway(time=NOW, path=SHOW, reason=HOSTILE), "alarm", "NOT PROTECTED"),
    (FolderBack(time=NOW, path=SHOW), "notice", "is back"),
    (FolderReplaced(time=NOW, path=SHOW), "notice", "another folder"),
    (Polling(time=NOW, reason=HOSTILE), "notice", "instead of listening"),
    (Mended(time=NOW, what=HOSTILE), "notice", "mended"),
    (Reminder(time=NOW, minutes=43, since=NOW), "alarm", "43 MIN"),
    (
        DeskFileAhead(time=NOW, desk_file=DESK, export=SHOW, seconds=12_600.0),
        "notice",
        "without its export",
    ),
    (
        DeskFileAhead(time=NOW, desk_file=DESK, export=None, seconds=1.0),
        "notice",
        "there is no export",
    ),
    (ClockJumped(time=NOW, seconds=-3600.0), "notice", "back"),
    (ClockJumped(time=NOW, seconds=86_400.0), "notice", "ahead"),
    (Note(time=NOW, text=HOSTILE), "notice", "night"),
]


@pytest.mark.parametrize(("event", "loudness", "words"), CASES)
def test_an_event_is_said_as_loudly_as_it_matters_and_steers_no_terminal(
    event: WatchEvent, loudness: str, words: str
) -> None:
    level, text = say_event(event)
    assert level == loudness
    assert words in text
    assert text.startswith("20:00:00")
    assert all(letter.isprintable() or letter == "\n" for letter in text)


def test_a_file_that_nobody_can_describe_is_named_once() -> None:
    kept = Kept(time=NOW, number=7, path=DESK, sha256="ab", summary=f"{DESK.name} saved")
    assert say_event(kept)[1] == f"20:00:00  kept 7  {safe(DESK.name)}"


def test_every_event_there_is_has_a_line() -> None:
    assert {type(event) for event, _, _ in CASES} == set(get_args(WatchEvent))


def heard(*events: WatchEvent) -> str:
    line = CalmLine(count=0)
    for event in events:
        line.heed(event)
    return line.say(NOW + timedelta(minutes=4), 200)


KEPT = Kept(time=NOW, number=7, path=SHOW, sha256="ab", summary="cue 12.5: 50 → 65 %")
TROUBLE = Trouble(time=NOW, paths=(SHOW,), message="no room", again_in=2.0)
AWAY = FolderAway(time=NOW, path=SHOW, reason="gone")


def test_the_calm_line_says_how_long_ago_how_many_and_what_changed() -> None:
    said = heard(KEPT)
    assert all(words in said for words in ("version 7", "4 min", "7 kept", "cue 12.5"))


def test_the_calm_line_names_a_version_that_another_command_kept() -> None:
    said = heard(KEPT, KeptElsewhere(time=NOW, number=8, summary="version 2 restored"))
    assert said == "last good version 8, 4 min ago; 8 kept; version 2 restored"


def test_a_version_of_a_desk_file_alone_does_not_hide_what_the_show_changed_last() -> None:
    desk = Kept(
        time=NOW, number=8, path=DESK, sha256="ab", summary="a.desk saved", of_the_show=False
    )
    said = heard(KEPT, desk)
    assert said.endswith("8 kept; a.desk saved; the show itself 7: cue 12.5: 50 → 65 %")
    assert "the show itself" not in heard(desk)
    assert "the show itself" not in heard(KEPT, desk, KEPT)


def test_a_file_kept_beside_the_show_in_one_version_does_not_hide_what_the_show_changed() -> None:
    beside = Kept(time=NOW, number=7, path=DESK, sha256="a", summary="a saved", of_the_show=False)
    assert heard(KEPT, beside) == heard(beside, KEPT) == heard(KEPT)


def test_before_the_first_version_the_line_asks_for_a_save() -> None:
    assert "save the show" in heard()


@pytest.mark.parametrize(
    ("event", "words"),
    [
        (TROUBLE, "NOT KEPT"),
        (AWAY, "NOT PROTECTED"),
        (SetAside(time=NOW, number=8, path=SHOW, reason="half"), "SAVE AGAIN"),
    ],
)
def test_what_is_wrong_takes_the_place_of_the_calm(event: WatchEvent, words: str) -> None:
    assert words in heard(KEPT, event)


@pytest.mark.parametrize(
    ("wrong", "right"),
    [
        (TROUBLE, Recovered(time=NOW)),
        (TROUBLE, GoneUnkept(time=NOW, path=SHOW)),
        (AWAY, FolderBack(time=NOW, path=SHOW)),
        (SetAside(time=NOW, number=8, path=SHOW, reason="half"), KEPT),
        # a restore brings back bytes that are kept already
        (
            SetAside(time=NOW, number=8, path=SHOW, reason="half"),
            SavedUnchanged(time=NOW, path=SHOW),
        ),
    ],
)
def test_the_calm_comes_back_when_it_is_right_again(wrong: WatchEvent, right: WatchEvent) -> None:
    assert "version 7" in heard(KEPT, wrong, right)


def test_a_broken_save_before_anything_whole_says_that_nothing_is_protected() -> None:
    aside = SetAside(time=NOW, number=1, path=SHOW, reason="half")
    assert "NOTHING WHOLE IS PROTECTED YET" in heard(aside)
    assert "NOTHING" not in heard(KEPT, aside)


def test_a_version_kept_elsewhere_does_not_hide_a_place_that_is_out_of_sight() -> None:
    assert "NOT PROTECTED" in heard(AWAY, KEPT, SavedUnchanged(time=NOW, path=DESK))


def test_a_version_of_another_file_does_not_hide_one_that_is_not_kept() -> None:
    other = Kept(time=NOW, number=8, path=DESK, sha256="ab", summary="saved")
    assert "NOT KEPT" in heard(KEPT, TROUBLE, other)


def test_a_name_in_the_line_steers_no_terminal() -> None:
    assert heard(AWAY).isprintable()
