import errno
import logging
import threading
import time
from pathlib import Path

import pytest

from showvault.watch.coverage import WatchedFolder
from showvault.watch.notices import (
    AT_MOST,
    Inbox,
    NoNotices,
    Notices,
    NoticesUnavailableError,
    SystemNotices,
)

SHOW = Path("/shows/evening.json")


def test_many_notices_of_one_file_wait_as_one() -> None:
    inbox = Inbox()
    for _ in range(36_000):
        inbox.put(SHOW, closed=False)
    inbox.put(SHOW, closed=True)
    assert inbox.take() == Notices({SHOW: True})
    assert inbox.take() == Notices({})


def test_more_files_than_can_wait_ask_for_a_look_at_everything() -> None:
    inbox = Inbox()
    for number in range(AT_MOST + 1):
        inbox.put(Path(f"/shows/{number}"), closed=True)
    notices = inbox.take()
    assert len(notices.touched) == AT_MOST
    assert notices.lost


def test_waiting_ends_when_something_is_told() -> None:
    inbox = Inbox()
    threading.Timer(0.05, inbox.put, (SHOW,), {"closed": True}).start()
    began = time.monotonic()
    inbox.wait(10)
    assert time.monotonic() - began < 5


def test_waking_counts_even_before_the_wait() -> None:
    """A signal may come between the last look at the stop flag and the wait."""
    inbox = Inbox()
    inbox.wake()
    began = time.monotonic()
    inbox.wait(10)
    assert time.monotonic() - began < 5


def test_without_notices_waiting_is_woken_too() -> None:
    nothing = NoNotices()
    nothing.start([WatchedFolder(Path("/shows"), True)])
    nothing.wake()
    began = time.monotonic()
    nothing.wait(10)
    assert time.monotonic() - began < 5
    assert nothing.take() == Notices({})
    assert nothing.alive()
    nothing.stop()


def test_a_folder_that_is_not_there_cannot_be_told_about(tmp_path: Path) -> None:
    notices = SystemNotices()
    with pytest.raises(NoticesUnavailableError):
        notices.start([WatchedFolder(tmp_path / "gone", True)])
    assert not notices.alive()
    notices.stop()


def test_folders_that_are_left_out_make_notices_unavailable(tmp_path: Path) -> None:
    notices = SystemNotices(left_out=lambda folders: 3)
    with pytest.raises(NoticesUnavailableError, match="3 of the folders"):
        notices.start([WatchedFolder(tmp_path, True)])
    assert not notices.alive()


def test_a_folder_that_was_made_between_the_counts_is_no_reason_to_do_without(
    tmp_path: Path,
) -> None:
    counts = [1, 0]
    notices = SystemNotices(left_out=lambda folders: counts.pop(0))
    notices.start([WatchedFolder(tmp_path, True)])
    assert notices.alive()
    notices.stop()
    assert not notices.alive()


def test_a_warning_of_the_library_asks_for_a_look_and_stays_off_the_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    notices = SystemNotices()
    notices.start([WatchedFolder(tmp_path, True)])
    logging.getLogger("watchdog.observers.inotify_c").warning("Inotify queue overflowed")
    assert notices.take().lost
    notices.stop()
    assert capsys.readouterr().err == ""


def test_reading_a_file_is_no_change(tmp_path: Path) -> None:
    show = tmp_path / "evening.json"
    show.write_text("{}")
    notices = SystemNotices()
    notices.start([WatchedFolder(tmp_path, True)])
    for _ in range(20):
        show.read_bytes()
    notices.wait(0.2)
    assert notices.take() == Notices({})
    notices.stop()


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EMFILE])
def test_a_limit_of_the_system_is_said_in_words(tmp_path: Path, number: int) -> None:
    def reach_the_limit(folders: object) -> int:
        raise OSError(number, "limit reached")

    notices = SystemNotices(left_out=reach_the_limit)
    with pytest.raises(NoticesUnavailableError, match="no more watched folders"):
        notices.start([WatchedFolder(tmp_path, True)])


def test_an_observer_that_cannot_end_in_order_is_left_behind(tmp_path: Path) -> None:
    """Its folder may be gone with the medium: watchdog PR #869."""
    notices = SystemNotices()
    notices.start([WatchedFolder(tmp_path, True)])
    observer = notices._observer
    assert observer is not None
    end = observer.stop

    def fail() -> None:
        end()
        raise OSError(22, "no such watch")

    observer.stop = fail  # type: ignore[method-assign]
    notices.stop()
    assert not notices.alive()
