"""The observer on real folders with scripted notices: nothing here waits."""

import os
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest

from showvault.files.disk import DiskError
from showvault.watch.coverage import WatchedFolder
from showvault.watch.hearing import AT_MOST, GRACE
from showvault.watch.notices import NoticesUnavailableError
from showvault.watch.observer import Observer
from showvault.watch.places import InSight, OutOfSight, look_at
from showvault.watch.sightings import (
    Away,
    Back,
    Deaf,
    Replaced,
    Restarted,
    Sighting,
    Touched,
    Vanished,
)
from tests.fakes import FakeClock, ScriptedNotices


class Stage:
    """A watched folder, and an observer that looks after it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.folder.mkdir()
        self.clock = FakeClock()
        self.notices = ScriptedNotices(self.clock)
        self.observer = self.observe([self.folder])

    def observe(
        self, watched: Sequence[Path], candidates: Callable[[], Sequence[Path]] | None = None
    ) -> Observer:
        self.observer = Observer(
            watched,
            candidates or self.candidates,
            self.notices,
            self.clock.monotonic,
        )
        return self.observer

    def candidates(self) -> list[Path]:
        found = sorted(self.folder.rglob("*"))
        return [path for path in found if path.is_file() and not path.name.startswith(".")]

    def save(self, name: str, text: str) -> Path:
        path = self.folder / name
        path.write_text(text)
        return path

    def after(self, seconds: float) -> list[Sighting]:
        self.clock.advance(seconds)
        return self.observer.sightings()


@pytest.fixture
def stage(tmp_path: Path) -> Stage:
    return Stage(tmp_path / "shows")


def test_the_start_touches_every_file_that_is_there(stage: Stage) -> None:
    show = stage.save("evening.json", "{}")
    assert stage.observer.start() == [Touched(show)]
    assert stage.notices.folders == [(WatchedFolder(stage.folder, True),)]


def test_a_notice_of_a_known_file_touches_it_at_once(stage: Stage) -> None:
    show = stage.save("evening.json", "{}")
    stage.observer.start()
    stage.notices.tell(show, closed=True)
    assert stage.after(0.0) == [Touched(show, closed=True)]


def test_a_notice_of_an_unknown_file_asks_for_a_look(stage: Stage) -> None:
    stage.observer.start()
    show = stage.save("evening.json", "{}")
    stage.notices.tell(show, closed=True)
    assert stage.after(1.0) == [Touched(show, closed=True)]


def test_a_file_that_does_not_count_is_never_touched(stage: Stage) -> None:
    stage.observer.start()
    stage.notices.tell(stage.save(".evening.json.tmp", "{}"), closed=True)
    assert stage.after(1.0) == []


def test_looks_that_notices_ask_for_keep_a_distance(stage: Stage) -> None:
    stage.observer.start()
    looks = 0

    def count() -> list[Path]:
        nonlocal looks
        looks += 1
        return []

    stage.observe([stage.folder], count).start()
    looks = 0
    for _ in range(1000):
        stage.notices.tell(stage.folder / ".desk.log")
        stage.after(0.01)
    assert looks <= 40


def test_the_look_finds_what_no_notice_told(stage: Stage) -> None:
    stage.observer.start()
    show = stage.save("evening.json", "{}")
    assert stage.after(14.0) == []
    assert stage.after(1.0) == [Touched(show)]


def test_a_change_that_is_never_told_leads_to_polling(stage: Stage) -> None:
    stage.observer.start()
    stage.save("evening.json", "{}")
    stage.after(15.0)
    assert stage.after(2.9) == []
    (deaf,) = stage.after(0.1)
    assert isinstance(deaf, Deaf)
    assert "evening.json" in deaf.reason
    assert stage.observer.polling
    assert stage.notices.stopped > 0


def test_a_change_that_is_told_a_little_late_is_no_reason_to_poll(stage: Stage) -> None:
    stage.observer.start()
    show = stage.save("evening.json", "{}")
    stage.after(15.0)
    stage.clock.advance(1.0)
    stage.notices.tell(show)
    stage.observer.sightings()
    assert stage.after(10.0) == []
    assert not stage.observer.polling


def test_a_notice_of_the_folder_speaks_for_the_files_in_it(stage: Stage) -> None:
    stage.observer.start()
    (stage.folder / "act1").mkdir()
    stage.notices.tell(stage.folder / "act1")
    stage.after(0.0)
    show = stage.save("act1/evening.json", "{}")
    assert Touched(show) in stage.after(15.0)
    stage.after(5.0)
    assert not stage.observer.polling


def test_lost_notices_ask_for_a_look_and_are_no_reason_to_poll(stage: Stage) -> None:
    stage.observer.start()
    show = stage.save("evening.json", "{}")
    stage.notices.lost = "the queue was full"
    assert stage.after(1.0) == [Touched(show)]
    stage.after(5.0)
    assert not stage.observer.polling


def test_polling_looks_every_second(stage: Stage) -> None:
    assert stage.observer.start(polling_because="a stick") == [Deaf("a stick")]
    show = stage.save("evening.json", "{}")
    assert stage.after(1.0) == [Touched(show)]
    assert stage.notices.folders == []


def test_a_system_without_notices_is_polled(stage: Stage) -> None:
    stage.notices.unavailable = "the limit is reached"
    assert stage.observer.start() == [Deaf("the limit is reached")]


def test_a_file_that_is_removed_vanishes(stage: Stage) -> None:
    show = stage.save("evening.json", "{}")
    stage.observer.start()
    show.unlink()
    stage.notices.tell(show)
    assert Vanished(show) in stage.after(15.0)


def test_a_folder_that_is_gone_is_away_and_nothing_in_it_vanished(stage: Stage) -> None:
    stage.save("evening.json", "{}")
    stage.observer.start()
    stage.folder.rename(stage.folder.with_name("elsewhere"))
    (away,) = [one for one in stage.after(15.0) if not isinstance(one, Touched)]
    assert isinstance(away, Away)
    assert away.path == stage.folder
    assert stage.after(2.0) == []


def test_a_folder_that_is_back_is_told_and_looked_at_anew(stage: Stage) -> None:
    show = stage.save("evening.json", "{}")
    stage.observer.start()
    stage.folder.rename(stage.folder.with_name(".away"))
    stage.after(15.0)
    stage.folder.with_name(".away").rename(stage.folder)
    assert stage.after(2.0) == [Back(stage.folder), Touched(show)]
    assert len(stage.notices.folders) == 2


def test_a_folder_swapped_for_another_is_found_by_its_identity(stage: Stage) -> None:
    stage.save("evening.json", "{}")
    stage.observer.start()
    other = stage.folder.with_name(".other")
    other.mkdir()
    (other / "morning.json").write_text("{}")
    stage.folder.rename(stage.folder.with_name(".old"))
    other.rename(stage.folder)
    found = stage.after(15.0)
    assert Replaced(stage.folder) in found
    assert Touched(stage.folder / "morning.json") in found
    assert not any(isinstance(one, Away) for one in found)


def test_a_folder_that_cannot_be_listed_is_away_until_it_can(stage: Stage) -> None:
    stage.observer.start()
    refusing = True

    def candidates() -> list[Path]:
        if refusing:
            raise DiskError("look into", stage.folder, "input/output error")
        return []

    stage.observe([stage.folder], candidates)
    (away,) = stage.observer.start()
    assert isinstance(away, Away)
    assert "input/output error" in away.reason
    refusing = False
    assert stage.after(2.0) == [Back(stage.folder)]


def test_a_folder_that_is_not_there_at_the_start_is_waited_for(stage: Stage) -> None:
    later = stage.folder / "stick"
    stage.observe([later])
    (away,) = stage.observer.start()
    assert isinstance(away, Away)
    later.mkdir()
    show = stage.save("stick/evening.json", "{}")
    assert stage.after(2.0) == [Back(later), Touched(show)]
    assert stage.notices.folders == [(WatchedFolder(later, True),)]


def test_a_single_file_is_watched_by_its_folder(stage: Stage) -> None:
    show = stage.save("evening.json", "{}")
    stage.observe([show]).start()
    assert stage.notices.folders == [(WatchedFolder(stage.folder, False),)]


def test_a_single_file_that_is_replaced_is_never_away(stage: Stage) -> None:
    show = stage.save("evening.json", "{}")
    stage.observe([show]).start()
    show.unlink()
    stage.notices.tell(show)
    assert stage.after(15.0) == [Touched(show), Vanished(show)]
    stage.save("evening.json", "[]")
    assert Touched(show) in stage.after(15.0)


def test_the_folder_of_a_single_file_can_be_away(stage: Stage) -> None:
    show = stage.save("evening.json", "{}")
    stage.observe([show]).start()
    stage.folder.rename(stage.folder.with_name("elsewhere"))
    assert any(isinstance(one, Away) for one in stage.after(15.0))


def test_dead_threads_are_started_again_and_everything_is_looked_at(stage: Stage) -> None:
    stage.observer.start()
    stage.notices.living = False
    show = stage.save("evening.json", "{}")
    restarted, touched = stage.after(0.1)
    assert isinstance(restarted, Restarted)
    assert touched == Touched(show)
    stage.after(10.0)
    assert not stage.observer.polling


def test_threads_that_die_again_and_again_lead_to_polling(stage: Stage) -> None:
    stage.observer.start()
    found: list[Sighting] = []
    for _ in range(4):
        stage.notices.living = False
        found += stage.after(1.0)
    assert [type(one) for one in found] == [Restarted, Restarted, Restarted, Deaf]


def test_a_folder_that_takes_its_watch_along_is_away_and_not_mended(stage: Stage) -> None:
    stage.observer.start()
    stage.folder.rmdir()
    stage.notices.living = False
    assert [type(one) for one in stage.after(0.1)] == [Away]


def test_looking_takes_a_small_share_of_the_time_however_long_it_takes(stage: Stage) -> None:
    looks = []

    def slow() -> list[Path]:
        looks.append(stage.clock.monotonic())
        stage.clock.advance(6.0)
        return []

    stage.observe([stage.folder], slow)
    stage.observer.start(polling_because="a share")
    before = len(looks)
    for _ in range(59):
        stage.after(1.0)
    assert len(looks) == before
    stage.after(1.0)
    assert len(looks) == before + 1


def test_a_place_that_is_gone_is_told_within_two_seconds_without_looking_at_files(
    stage: Stage,
) -> None:
    looks = []

    def count() -> list[Path]:
        looks.append(stage.clock.monotonic())
        return stage.candidates()

    stage.observe([stage.folder], count)
    stage.observer.start()
    before = len(looks)
    assert stage.after(1.9) == []
    assert stage.observer.next_wake() - stage.clock.monotonic() <= 0.1 + 1e-9
    stage.folder.rmdir()
    assert [type(one) for one in stage.after(0.1)] == [Away]
    assert len(looks) == before
    stage.folder.mkdir()
    assert [type(one) for one in stage.after(2.0)] == [Back]


def test_a_folder_swapped_for_another_is_told_within_two_seconds(stage: Stage) -> None:
    show = stage.save("evening.json", "{}")
    stage.observer.start()
    stage.folder.rename(stage.folder.with_name("elsewhere"))
    stage.folder.mkdir()
    stage.save("evening.json", "[]")
    assert stage.after(2.0) == [Replaced(stage.folder)]
    assert Touched(show) in stage.after(0.25)


def test_an_empty_place_where_a_medium_was_is_away(stage: Stage) -> None:
    before = InSight(WatchedFolder(stage.folder, True), (os.stat(stage.folder).st_dev + 1, 7))
    place = look_at(stage.folder, before)
    assert isinstance(place, OutOfSight)
    assert "medium" in place.reason


def test_nothing_grows_with_the_number_of_notices(stage: Stage) -> None:
    """A save every 100 ms for an hour: 36,000 notices, each with a temporary file's beside it."""
    show = stage.save("evening.json", "{}")
    stage.observer.start()
    for number in range(36_000):
        stage.notices.tell(show, closed=True)
        stage.notices.tell(stage.folder / f".tmp{number}")
        stage.after(0.1)
    holders = (stage.observer, stage.observer._hearing)
    held = [value for holder in holders for value in vars(holder).values()]
    assert max(len(value) for value in held if isinstance(value, dict | list | set)) < 400


def test_a_folder_that_vanishes_while_listening_begins_is_no_reason_to_poll(stage: Stage) -> None:
    class Vanishing(ScriptedNotices):
        def start(self, folders: Sequence[WatchedFolder]) -> None:
            if stage.folder.exists():
                stage.folder.rmdir()
                raise NoticesUnavailableError("no such folder")
            super().start(folders)

    stage.notices = Vanishing(stage.clock)
    stage.observe([stage.folder]).start()
    assert not stage.observer.polling
    stage.after(2.0)
    stage.folder.mkdir()
    assert Back(stage.folder) in stage.after(2.0)
    assert not stage.observer.polling


def test_one_place_that_is_away_does_not_hide_another(stage: Stage, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    here, there = stage.save("evening.json", "{}"), other / "morning.json"
    there.write_text("{}")
    listed = [here, there]
    stage.observe([stage.folder, other], lambda: listed).start()
    (other / "morning.json").unlink()
    other.rmdir()
    here.write_text("[]")
    found = stage.after(15.0)
    assert [type(one) for one in found] == [Away, Touched]
    assert found[1] == Touched(here)
    assert stage.notices.folders[-1] == (WatchedFolder(stage.folder, True),)


def test_so_many_notices_that_they_cannot_be_remembered_ask_for_a_look(stage: Stage) -> None:
    stage.observer.start()
    stage.after(1.0)
    for number in range(AT_MOST):
        stage.notices.tell(stage.folder / f"{number}.tmp")
    stage.after(0.3)
    assert len(stage.observer._hearing._told) == AT_MOST
    stage.notices.tell(stage.folder / "one more.tmp")
    stage.after(GRACE + 0.1)
    assert len(stage.observer._hearing._told) < 10
