"""The whole session on real files, with a scripted clock and scripted notices: nothing waits."""

import os
from datetime import timedelta
from pathlib import Path

import msgspec
import pytest

from showvault.files.reading import FileIdentity
from showvault.watch.clock import MachineClock
from showvault.watch.events import (
    ClockJumped,
    DeskFileAhead,
    Finishing,
    FolderAway,
    FolderBack,
    FolderReplaced,
    GoneUnkept,
    Kept,
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
)
from tests.watch.evening import Evening, SomeLag
from tests.watch.keepers import NotingKeeper, full_disk


def test_what_was_saved_before_is_kept_before_it_is_ready(evening: Evening) -> None:
    show = evening.save("evening.json", "{}")
    evening.begin()
    evening.run(5)
    assert evening.kinds() == [Kept, Ready]
    assert evening.keeper.versions == [(show, b"{}")]


def test_ready_is_not_said_while_keeping_fails(evening: Evening) -> None:
    evening.save("evening.json", "{}")
    evening.keeper.refusals = [full_disk(evening.folder)] * 2
    evening.begin()
    evening.run(30)
    assert evening.kinds() == [Trouble, Trouble, Kept, Recovered, Ready]


def test_ready_is_not_said_while_keeping_fails_even_if_the_file_is_saved_again(
    evening: Evening,
) -> None:
    evening.save("evening.json", "{}")
    evening.keeper.refusals = [full_disk(evening.folder)] * 2
    evening.begin()
    evening.run(2)
    evening.save("evening.json", "[]")
    evening.run(30)
    assert evening.kinds() == [Trouble, Trouble, Kept, Recovered, Ready]


def test_a_file_that_has_long_rested_is_kept_at_once_at_the_start(evening: Evening) -> None:
    evening.save("evening.json", "{}")
    evening.clock.moment = evening.clock.moment.replace(year=2100)
    evening.begin()
    evening.run(0)
    assert evening.kinds() == [Kept, Ready]


def test_nothing_there_is_ready_at_once(evening: Evening) -> None:
    evening.begin()
    evening.run(0)
    assert evening.kinds() == [Ready]


def test_a_folder_nobody_may_look_into_is_told_before_it_is_ready(evening: Evening) -> None:
    evening.unreadable = [evening.folder / "lost+found"]
    evening.begin()
    evening.run(5)
    assert evening.kinds() == [Note, Ready]


def test_a_save_is_kept_with_its_number_and_hash(evening: Evening) -> None:
    evening.begin()
    show = evening.save("evening.json", "{}")
    evening.run(2)
    (kept,) = evening.of(Kept)
    assert isinstance(kept, Kept)
    assert (kept.number, kept.path, kept.summary) == (1, show, "save 1")
    assert kept.sha256 == "44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a"


def test_a_save_in_place_of_twenty_chunks_is_one_version(evening: Evening) -> None:
    """A save in place: 20 chunks 100 ms apart."""
    evening.begin()
    evening.run(0)
    for chunk in range(20):
        evening.save("evening.json", "[" + "1," * chunk)
        evening.run(0.1)
    show = evening.save("evening.json", "[" + "1," * 20 + "1]")
    evening.run(20)
    assert evening.kinds() == [Ready, Kept]
    assert evening.keeper.versions == [(show, show.read_bytes())]


def test_two_quick_saves_that_end_where_they_began_make_no_second_version(
    evening: Evening,
) -> None:
    """Two saves close together, then back to the first content."""
    evening.save("evening.json", "{}")
    evening.begin()
    evening.run(2)
    evening.save("evening.json", '{"x": 1}')
    evening.run(0.05)
    evening.save("evening.json", "{}")
    evening.run(10)
    assert evening.kinds() == [Kept, Ready, SavedUnchanged]
    assert len(evening.keeper.versions) == 1


def test_two_files_saved_at_once_are_kept_together(evening: Evening) -> None:
    evening.save("a.desk", "1")
    evening.begin()
    evening.run(5)
    evening.save("a.json", "{}")
    evening.save("a.desk", "2")
    evening.run(5)
    assert [len(batch) for batch in evening.keeper.batches] == [1, 2]


def test_a_broken_file_is_told_when_it_rests_and_set_aside_five_seconds_later(
    evening: Evening,
) -> None:
    evening.begin()
    evening.run(0)
    show = evening.save("evening.json", '{"half":')
    evening.run(10)
    assert evening.kinds() == [Ready, NotReadableYet, SetAside]
    told, aside = evening.told[1:]
    assert aside.time - told.time == timedelta(seconds=5)
    assert evening.keeper.aside == [(show, b'{"half":')]


def test_a_broken_file_that_is_finished_in_time_is_kept_and_not_set_aside(
    evening: Evening,
) -> None:
    evening.begin()
    evening.run(0)
    evening.save("evening.json", '{"half":')
    evening.run(3)
    evening.save("evening.json", '{"half": 1}')
    evening.run(10)
    assert evening.kinds() == [Ready, NotReadableYet, Kept]


def test_a_broken_file_that_changes_and_stays_broken_is_told_again(evening: Evening) -> None:
    evening.begin()
    evening.run(0)
    evening.save("evening.json", '{"half":')
    evening.run(3)
    evening.save("evening.json", '{"half": "and')
    evening.run(10)
    assert evening.kinds() == [Ready, NotReadableYet, NotReadableYet, SetAside]


def test_keeping_is_tried_again_with_growing_pauses_until_it_works(evening: Evening) -> None:
    evening.begin()
    evening.run(0)
    evening.keeper.refusals = [full_disk(evening.folder)] * 4
    evening.save("evening.json", "{}")
    evening.run(120)
    assert evening.kinds() == [Ready, Trouble, Trouble, Trouble, Trouble, Kept, Recovered]
    pauses = [event.again_in for event in evening.told if isinstance(event, Trouble)]
    assert pauses == [2.0, 5.0, 15.0, 30.0]
    troubles = [event for event in evening.told if isinstance(event, Trouble)]
    assert "no space left" in troubles[0].message
    assert troubles[0].hint is not None


def test_a_retry_keeps_what_is_in_the_file_by_then(evening: Evening) -> None:
    evening.begin()
    evening.keeper.refusals = [full_disk(evening.folder)]
    evening.save("evening.json", "{}")
    evening.run(1)
    show = evening.save("evening.json", "[]")
    evening.run(10)
    assert evening.keeper.versions == [(show, b"[]")]
    assert evening.kinds()[-2:] == [Kept, Recovered]


def test_recovered_is_said_when_the_last_file_in_trouble_is_kept(evening: Evening) -> None:
    evening.begin()
    evening.keeper.refusals = [full_disk(evening.folder)] * 2
    evening.save("a.json", "{}")
    evening.save("b.json", "{}")
    evening.run(60)
    assert evening.kinds() == [Ready, Trouble, Kept, Trouble, Kept, Recovered]


def test_a_file_that_is_being_written_when_watching_begins_does_not_hold_up_ready(
    evening: Evening,
) -> None:
    evening.save("evening.json", "[")
    evening.begin()
    evening.run(0)
    evening.save("evening.json", "[1")
    evening.run(0.3)
    assert evening.kinds() == [Ready]


def test_after_a_sleep_everything_is_looked_at_at_once(evening: Evening) -> None:
    evening.begin()
    evening.run(1)
    show = evening.folder / "evening.json"
    show.write_text("{}")  # while the machine slept: no notice came
    evening.clock.jump(8 * 3600)
    evening.run(3)
    assert evening.kinds() == [Ready, ClockJumped, Kept]


def test_an_error_nobody_thought_of_does_not_end_the_watching(evening: Evening) -> None:
    evening.begin()
    evening.keeper.refusals = [ZeroDivisionError("division by zero")]
    evening.save("evening.json", "{}")
    evening.run(10)
    assert evening.kinds() == [Ready, Trouble, Kept, Recovered]


def test_a_file_that_cannot_be_kept_does_not_hold_up_another(evening: Evening) -> None:
    evening.begin()
    keep = evening.keeper.keep

    class Picky(NotingKeeper):
        def keep(self, files, *, when):  # type: ignore[no-untyped-def]
            if any(file.path.name == "poison.json" for file in files):
                raise full_disk(files[0].path)
            return keep(files, when=when)

    evening.keeper = Picky()
    evening.session = None
    evening.told.clear()
    evening.begin()
    evening.save("poison.json", "{}")
    good = evening.save("evening.json", "{}")
    evening.run(10)
    assert [event.path for event in evening.told if isinstance(event, Kept)] == [good]


def test_a_file_gone_before_it_could_be_kept_is_said_so(evening: Evening) -> None:
    evening.begin()
    evening.keeper.refusals = [full_disk(evening.folder)]
    show = evening.save("evening.json", "{}")
    evening.run(1)
    show.unlink()
    evening.run(20)
    assert evening.kinds() == [Ready, Trouble, GoneUnkept]


def test_a_reader_that_fails_does_not_stop_the_file_from_being_kept(evening: Evening) -> None:
    class Failing(NotingKeeper):
        def judge(self, path: Path, data: bytes):  # type: ignore[no-untyped-def]
            raise RecursionError("too deep")

    evening.keeper = Failing()
    evening.begin()
    evening.save("evening.json", "{}")
    evening.run(5)
    assert evening.kinds() == [Ready, Kept]


def test_a_link_is_skipped_once_and_named(evening: Evening) -> None:
    evening.begin()
    evening.run(0)
    (evening.folder / "link.json").symlink_to("/etc/hostname")
    evening.notices.tell(evening.folder / "link.json")
    evening.run(60)
    assert evening.kinds() == [Ready, Skipped]


def test_a_pipe_does_not_stop_the_watcher(evening: Evening) -> None:
    """What is no plain file is refused quickly."""
    os.mkfifo(evening.folder / "pipe.json")
    evening.begin()
    evening.save("evening.json", "{}")
    evening.run(5)
    assert Skipped in evening.kinds()
    assert Kept in evening.kinds()


def test_a_file_that_never_rests_is_told_and_kept_once_a_minute_if_it_is_whole(
    evening: Evening,
) -> None:
    evening.begin()
    count = 0

    def save() -> None:
        nonlocal count
        count += 1
        evening.save("evening.json", f"[{count}]")

    for _ in range(1300):
        evening.run(0.1, save)
    assert len(evening.of(SlowToSettle)) == 1
    assert len(evening.of(Kept)) == 2
    evening.run(2)
    assert evening.keeper.versions[-1][1] == f"[{count}]".encode()


def test_a_restless_file_that_is_not_whole_is_not_kept_before_it_rests(evening: Evening) -> None:
    evening.begin()
    count = 0

    def save() -> None:
        nonlocal count
        count += 1
        evening.save("evening.json", f"[{count}")

    for _ in range(650):
        evening.run(0.1, save)
    assert evening.kinds() == [Ready, SlowToSettle]


def test_a_folder_that_goes_away_and_comes_back_loses_nothing(evening: Evening) -> None:
    evening.save("evening.json", "{}")
    evening.begin()
    evening.run(2)
    away = evening.folder.with_name("away")
    evening.folder.rename(away)
    evening.run(20)
    (away / "evening.json").write_text("[]")
    away.rename(evening.folder)
    evening.run(20)
    assert evening.kinds() == [Kept, Ready, FolderAway, FolderBack, Kept]


def test_a_save_that_was_still_settling_when_the_folder_went_away_is_kept_when_it_is_back(
    evening: Evening,
) -> None:
    evening.begin()
    evening.run(0)
    evening.save("evening.json", "{}")
    evening.run(0.2)
    away = evening.folder.with_name("away")
    evening.folder.rename(away)
    evening.run(20)
    away.rename(evening.folder)
    evening.run(20)
    assert evening.kinds() == [Ready, FolderAway, FolderBack, Kept]


def test_polling_is_told_and_waits_longer(evening: Evening) -> None:
    evening.save("evening.json", "{}")
    evening.begin(polling_because="the drive can be pulled")
    evening.run(3.9)
    assert evening.kinds() == [Polling]
    evening.run(0.1)
    assert evening.kinds() == [Polling, Kept, Ready]
    (ready,) = evening.of(Ready)
    assert isinstance(ready, Ready)
    assert ready.polling


def test_no_save_for_twenty_minutes_is_said_and_said_again(evening: Evening) -> None:
    evening.begin(remind_minutes=20)
    evening.run(45 * 60)
    reminders = [event for event in evening.told if isinstance(event, Reminder)]
    assert [event.minutes for event in reminders] == [20, 40]


def test_a_save_starts_the_minutes_anew_even_if_nothing_changed(evening: Evening) -> None:
    evening.save("evening.json", "{}")
    evening.begin(remind_minutes=20)
    evening.run(15 * 60)
    evening.save("evening.json", "{}")
    evening.run(15 * 60)
    assert Reminder not in evening.kinds()
    assert SavedUnchanged in evening.kinds()


def test_zero_minutes_never_remind(evening: Evening) -> None:
    evening.begin(remind_minutes=0)
    evening.run(24 * 3600)
    assert evening.kinds() == [Ready]


def test_a_desk_file_without_its_export_is_said_once_for_each_save(evening: Evening) -> None:
    evening.begin()
    desk = evening.save("a.desk", "1")
    evening.lag = SomeLag(desk, evening.folder / "a.json", 12600.0)
    evening.run(300)
    (ahead,) = evening.of(DeskFileAhead)
    assert isinstance(ahead, DeskFileAhead)
    assert (ahead.desk_file, ahead.seconds) == (desk, 12600.0)


def test_an_export_that_follows_soon_is_no_reason_to_speak(evening: Evening) -> None:
    evening.begin()
    desk = evening.save("a.desk", "1")
    evening.lag = SomeLag(desk, None, 10.0)
    evening.run(20)
    evening.save("a.json", "{}")
    evening.lag = None
    evening.run(300)
    assert DeskFileAhead not in evening.kinds()


@pytest.mark.parametrize("seconds", [-3600.0, 86_400.0, 8 * 3600.0])
def test_a_clock_that_jumps_is_told_once_and_disturbs_nothing(
    evening: Evening, seconds: float
) -> None:
    evening.begin(remind_minutes=20)
    evening.run(5)
    evening.clock.jump(seconds)
    evening.run(1)
    evening.save("evening.json", "{}")
    evening.run(5)
    assert evening.kinds() == [Ready, ClockJumped, Kept]
    (jump,) = evening.of(ClockJumped)
    assert isinstance(jump, ClockJumped)
    assert jump.seconds == pytest.approx(seconds)


def test_daylight_saving_is_no_jump(evening: Evening) -> None:
    """The moment is the same; only its offset changes."""
    from datetime import timezone

    evening.begin()
    evening.run(5)
    evening.clock.moment = evening.clock.moment.astimezone(timezone(timedelta(hours=1)))
    evening.run(5)
    assert ClockJumped not in evening.kinds()


def test_tidying_up_that_fails_takes_nothing_back(evening: Evening) -> None:
    class Untidy(NotingKeeper):
        def afterwards(self) -> list[str]:
            raise full_disk(Path("/vault"))

    evening.keeper = Untidy()
    evening.begin()
    evening.save("evening.json", "{}")
    evening.run(5)
    assert evening.kinds() == [Ready, Kept, Note]


def test_getting_ready_that_fails_is_no_matter(evening: Evening) -> None:
    class Unready(NotingKeeper):
        def get_ready(self) -> None:
            raise MemoryError

    evening.keeper = Unready()
    evening.begin()
    for text in ("{}", "[]"):
        evening.save("evening.json", text)
        evening.run(5)
    assert evening.kinds() == [Ready, Kept, Kept]


def test_every_kept_version_is_tidied_up_after(evening: Evening) -> None:
    evening.begin()
    for number in range(3):
        evening.save("evening.json", f"[{number}]")
        evening.run(5)
    assert evening.keeper.tidied == 3
    assert evening.keeper.readied == 4  # and once at the start


def test_stopping_finishes_a_save_that_is_settling(evening: Evening) -> None:
    evening.begin()
    session = evening.session
    assert session is not None
    evening.run(0)
    evening.save("evening.json", "{}")
    session.stop()
    told = list(session.events())
    kinds = [type(event) for event in told if not isinstance(event, Ready)]
    assert kinds == [Finishing, Kept, Stopped]
    assert evening.notices.stopped > 0


def test_stopping_does_not_wait_for_ever_and_names_what_is_left(evening: Evening) -> None:
    evening.begin()
    session = evening.session
    assert session is not None
    evening.run(0)
    show = evening.save("evening.json", "{}")
    count = 0

    def save() -> None:
        nonlocal count
        count += 1
        evening.save("evening.json", f"[{count}]")

    evening.notices.on_wait = save
    before = evening.clock.monotonic()
    session.stop()
    (*_, stopped) = session.events()
    assert isinstance(stopped, Stopped)
    assert stopped.left == (show,)
    assert evening.clock.monotonic() - before < 9


def test_stopping_does_not_wait_for_what_cannot_be_kept(evening: Evening) -> None:
    evening.begin()
    session = evening.session
    assert session is not None
    evening.keeper.refusals = [full_disk(evening.folder)] * 50
    show = evening.save("evening.json", "{}")
    evening.run(10)
    before = evening.clock.monotonic()
    session.stop()
    (*_, stopped) = session.events()
    assert isinstance(stopped, Stopped)
    assert stopped.left == (show,)
    assert evening.clock.monotonic() - before < 2


def test_nothing_in_the_session_grows_with_36_000_saves(evening: Evening) -> None:
    """A save every 100 ms for an hour, resting long enough now and then."""
    evening.begin()
    keep = evening.keeper
    for number in range(36_000):
        if number % 100 == 0:
            evening.run(1)
        if number % 20 == 0:
            evening.save("evening.json", f"[{number}]")
        evening.notices.tell(evening.folder / "evening.json", closed=True)
        evening.run(0.1)
        evening.told.clear()
    evening.run(5)
    assert keep.versions[-1][1] == b"[35980]"
    assert _largest(evening.session) < 50


def _largest(thing: object, seen: set[int] | None = None) -> int:
    """The size of the largest collection that the session holds."""
    seen = seen if seen is not None else set()
    if id(thing) in seen or not type(thing).__module__.startswith("showvault.watch"):
        return 0
    seen.add(id(thing))
    fields = list(vars(thing).values()) if hasattr(thing, "__dict__") else []
    if isinstance(thing, msgspec.Struct):
        fields = [getattr(thing, name) for name in thing.__struct_fields__]
    own = [len(value) for value in fields if isinstance(value, dict | list | set)]
    return max([0, *own, *(_largest(value, seen) for value in fields)])


def test_a_folder_that_was_swapped_is_said_so_and_its_files_are_kept(evening: Evening) -> None:
    evening.begin()
    evening.run(0)
    other = evening.folder.with_name("other")
    other.mkdir()
    (other / "evening.json").write_text("{}")
    evening.folder.rename(evening.folder.with_name("old"))
    other.rename(evening.folder)
    evening.run(20)
    assert evening.kinds() == [Ready, FolderReplaced, Kept]


def test_threads_that_died_are_said_to_be_mended(evening: Evening) -> None:
    evening.begin()
    evening.run(0)
    evening.notices.living = False
    evening.run(1)
    assert evening.kinds() == [Ready, Mended]


def test_a_file_that_is_removed_is_no_event(evening: Evening) -> None:
    show = evening.save("evening.json", "{}")
    evening.begin()
    evening.run(5)
    show.unlink()
    evening.run(60)
    assert evening.kinds() == [Kept, Ready]


def test_a_question_about_the_export_that_fails_is_a_note(evening: Evening) -> None:
    class Unanswerable(Evening):
        @property
        def lag(self) -> SomeLag | None:
            raise OSError(5, "input/output error")

        @lag.setter
        def lag(self, value: SomeLag | None) -> None: ...

    other = Unanswerable(evening.folder / "other")
    other.begin()
    other.save("evening.json", "{}")
    other.run(60)
    assert other.kinds() == [Ready, Kept, Note]


def test_a_file_that_goes_while_the_start_looks_at_it_is_no_trouble(evening: Evening) -> None:
    show = evening.save("evening.json", "{}")
    looks = 0
    look = evening.look

    def vanishing(path: Path) -> FileIdentity | None:
        nonlocal looks
        looks += 1
        if looks == 2:
            show.unlink()
        return look(path)

    evening.look = vanishing  # type: ignore[method-assign]
    evening.begin()
    evening.run(20)
    assert evening.kinds() == [Ready]
    assert looks >= 2


def test_a_file_that_falls_out_of_reach_while_the_start_looks_at_it_is_kept_later(
    evening: Evening,
) -> None:
    show = evening.save("evening.json", "{}")
    looks = 0
    look = evening.look

    def failing(path: Path) -> FileIdentity | None:
        nonlocal looks
        looks += 1
        if looks in (2, 3):
            raise full_disk(path)
        return look(path)

    evening.look = failing  # type: ignore[method-assign]
    evening.begin()
    evening.run(5)
    assert evening.keeper.versions == [(show, b"{}")]


def test_the_machine_s_clocks_are_aware_and_move_on() -> None:
    clock = MachineClock()
    assert clock.wall().utcoffset() is not None
    assert clock.monotonic() <= clock.monotonic()
