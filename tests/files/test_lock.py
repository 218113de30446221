import os
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

import pytest

from showvault.files import lock
from showvault.files.lock import (
    Holder,
    LockHeldError,
    NetworkDriveError,
    hold_lock,
    read_holder,
    refuse_network_drive,
)
from showvault.files.places import Storage


def clock() -> datetime:
    return datetime(2026, 11, 24, 22, 15, tzinfo=UTC)


def test_a_second_holder_is_told_who_holds_it(tmp_path: Path) -> None:
    with (
        hold_lock(tmp_path, "watcher", "showvault watch", clock=clock),
        pytest.raises(LockHeldError) as caught,
    ):
        hold_lock(tmp_path, "watcher", "another", clock=clock)
    holder = caught.value.holder
    assert holder is not None
    assert (holder.pid, holder.what) == (os.getpid(), "showvault watch")
    assert holder.since == "2026-11-24T22:15:00+00:00"
    local = datetime.fromisoformat(holder.since).astimezone()
    assert f"since {local:%H:%M} on {local:%Y-%m-%d}" in str(caught.value)
    assert caught.value.exit_code == 5


def test_a_lock_that_was_given_back_is_free(tmp_path: Path) -> None:
    with hold_lock(tmp_path, "watcher", "one", clock=clock) as lock:
        lock.release()
    with hold_lock(tmp_path, "watcher", "two", clock=clock) as lock:
        assert lock.left_by is None


def test_two_locks_of_one_folder_do_not_know_each_other(tmp_path: Path) -> None:
    with hold_lock(tmp_path, "watcher", "one", clock=clock):
        hold_lock(tmp_path, "writer", "two", clock=clock).release()


def test_who_holds_it_can_be_asked_without_taking_it(tmp_path: Path) -> None:
    assert read_holder(tmp_path, "watcher") is None
    with hold_lock(tmp_path, "watcher", "showvault watch", clock=clock):
        holder = read_holder(tmp_path, "watcher")
        assert holder is not None
        assert holder.what == "showvault watch"
    assert read_holder(tmp_path, "watcher") is None


def test_a_holder_that_gave_up_is_told_to_the_next(tmp_path: Path) -> None:
    hold_lock(tmp_path, "writer", "keeping a version", clock=clock).abandon()
    with hold_lock(tmp_path, "writer", "next", clock=clock) as lock:
        assert lock.left_by is not None
        assert lock.left_by.what == "keeping a version"


def test_a_text_without_a_lock_holds_nobody_up(tmp_path: Path) -> None:
    (tmp_path / "watcher.holder").write_text('{"pid":1,"host":"x","since":"y","what":"z"}')
    assert read_holder(tmp_path, "watcher") is None
    with hold_lock(tmp_path, "watcher", "mine", clock=clock) as lock:
        assert lock.left_by == Holder(1, "x", "y", "z")


def test_waiting_ends_when_the_holder_lets_go(tmp_path: Path) -> None:
    first = hold_lock(tmp_path, "writer", "first", clock=clock)
    pauses: list[float] = []

    def pause(seconds: float) -> None:
        pauses.append(seconds)
        if len(pauses) == 3:
            first.release()

    hold_lock(tmp_path, "writer", "second", clock=clock, wait_seconds=5, pause=pause).release()
    assert len(pauses) == 3


def test_waiting_has_an_end(tmp_path: Path) -> None:
    with hold_lock(tmp_path, "writer", "first", clock=clock), pytest.raises(LockHeldError):
        hold_lock(tmp_path, "writer", "x", clock=clock, wait_seconds=1, pause=lambda seconds: None)


HOLD = """
import sys, subprocess
from datetime import UTC, datetime
from pathlib import Path
from showvault.files.lock import hold_lock
lock = hold_lock(Path(sys.argv[1]), "writer", "holding", clock=lambda: datetime.now(UTC))
child = subprocess.Popen(
    [sys.executable, "-c", "input()"], stdin=0, pass_fds=(lock.descriptor,)
)
print("held", flush=True)
child.wait() if len(sys.argv) > 2 else None
"""


def test_a_holder_that_is_killed_holds_nobody_up(tmp_path: Path) -> None:
    code = HOLD.replace("child = ", "import time; time.sleep(60)\nchild = ").replace(
        "import time", "print('held', flush=True); import time"
    )
    holder = subprocess.Popen(
        [sys.executable, "-c", code, str(tmp_path)], stdout=subprocess.PIPE, text=True
    )
    assert holder.stdout is not None
    assert holder.stdout.readline() == "held\n"
    with pytest.raises(LockHeldError):
        hold_lock(tmp_path, "writer", "x", clock=clock)
    holder.kill()
    holder.wait()
    holder.stdout.close()
    with hold_lock(tmp_path, "writer", "x", clock=clock) as lock:
        assert lock.left_by is not None
        assert lock.left_by.pid == holder.pid


@pytest.mark.skipif(sys.platform == "win32", reason="open files are not inherited this way there")
def test_a_child_that_outlives_its_parent_still_holds_the_lock(tmp_path: Path) -> None:
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLD, str(tmp_path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert holder.stdout is not None
    assert holder.stdin is not None
    assert holder.stdout.readline() == "held\n"
    holder.wait()  # the parent is gone, its child waits for a line
    with pytest.raises(LockHeldError):
        hold_lock(tmp_path, "writer", "x", clock=clock)
    holder.stdin.write("\n")
    holder.stdin.close()
    holder.stdout.read()  # ends with the child
    holder.stdout.close()
    hold_lock(tmp_path, "writer", "x", clock=clock, wait_seconds=10).release()


def test_a_lock_that_was_given_back_cannot_be_given_up_any_more(tmp_path: Path) -> None:
    lock = hold_lock(tmp_path, "writer", "a save", clock=clock)
    lock.release()
    with hold_lock(tmp_path, "writer", "another save", clock=clock):
        lock.abandon()
        lock.release()
        assert read_holder(tmp_path, "writer") is not None


def test_a_holder_whose_time_is_none_is_told_as_it_stands(tmp_path: Path) -> None:
    """Written by another version, or by hand: who waits must still be told who is there."""
    with hold_lock(tmp_path, "writer", "a save", clock=clock):
        text = '{"pid":7,"host":"desk","since":"ten past","what":"keeping a version"}'
        (tmp_path / "writer.holder").write_text(text)
        with pytest.raises(LockHeldError) as caught:
            hold_lock(tmp_path, "writer", "x", clock=clock)
    assert "keeping a version (process 7 on desk, since ten past)" in str(caught.value)


@pytest.mark.parametrize("kind", ["network", "fixed", "removable"])
def test_only_a_network_drive_is_refused(
    tmp_path: Path, kind: Literal["network", "fixed", "removable"]
) -> None:
    def storage(path: Path) -> Storage:
        assert path == tmp_path
        return Storage(kind, "cifs", Path("/mnt/desk"))

    if kind == "network":
        with pytest.raises(NetworkDriveError, match=r"lies on a network drive \(cifs\)") as caught:
            refuse_network_drive(tmp_path, storage=storage)
        assert "--vault" in (caught.value.hint or "")
    else:
        refuse_network_drive(tmp_path, storage=storage)


def test_what_the_folder_lies_on_is_asked_once_unless_it_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[Path] = []

    def refuse(folder: Path) -> None:
        asked.append(folder)
        if folder.name == "far":
            raise NetworkDriveError(folder, "cifs")

    monkeypatch.setattr(lock, "refuse_network_drive", refuse)
    near, far = tmp_path / "near", tmp_path / "far"
    far.mkdir()
    for _ in range(3):  # the first time it is not there yet
        hold_lock(near, "writer", "x", clock=clock).release()
        with pytest.raises(NetworkDriveError):
            hold_lock(far, "writer", "x", clock=clock)
    assert asked == [near, far, near, far, far]
