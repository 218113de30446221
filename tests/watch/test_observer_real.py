"""The observer with the system's own notices: real files, real threads, short real waits.

The faults are those that watching is known to suffer from (watchdog's own list of issues).
"""

import os
import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from showvault.watch.notices import Inbox, SystemNotices
from showvault.watch.observer import Observer
from showvault.watch.session import Session
from showvault.watch.sightings import Away, Back, Deaf, Replaced, Restarted, Sighting, Touched
from tests.watch.keepers import NotingKeeper

PATIENCE = 6.0
LINUX = pytest.mark.skipif(sys.platform != "linux", reason="inotify is Linux's own")


class Watching:
    """An observer at work on a real folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.folder.mkdir(exist_ok=True)
        self.inbox = Inbox()
        self.notices = SystemNotices(inbox=self.inbox)
        self.ahead = 0.0
        self.observer = Observer([folder], self.candidates, self.notices, self.monotonic)
        self.seen: list[Sighting] = []

    def candidates(self) -> list[Path]:
        found = self.folder.rglob("*") if self.folder.exists() else []
        return [path for path in found if not path.name.startswith(".") and path.is_file()]

    def monotonic(self) -> float:
        return time.monotonic() + self.ahead

    def later(self, seconds: float) -> None:
        """Let so much time pass for the observer, and a moment for the system."""
        self.ahead += seconds
        time.sleep(0.2)

    def until(self, true: Callable[[], bool], patience: float = PATIENCE) -> None:
        end = time.monotonic() + patience
        while not true():
            assert time.monotonic() < end, f"in vain; seen: {self.seen}"
            self.observer.wait(0.02)
            self.seen += self.observer.sightings()

    def until_touched(self, path: Path) -> None:
        self.seen.clear()
        self.until(lambda: path in self.touched())

    def touched(self) -> set[Path]:
        return {one.path for one in self.seen if isinstance(one, Touched)}

    def saw(self, kind: type) -> bool:
        return any(isinstance(one, kind) for one in self.seen)


@pytest.fixture
def watching(tmp_path: Path) -> Iterator[Watching]:
    stage = Watching(tmp_path / "shows")
    stage.seen += stage.observer.start()
    assert not stage.observer.polling
    yield stage
    stage.observer.stop()


def test_a_save_in_place_is_seen(watching: Watching) -> None:
    show = watching.folder / "evening.json"
    show.write_text("{}")
    watching.until_touched(show)
    show.write_text("[]")
    watching.until_touched(show)


def test_a_save_by_renaming_is_seen_under_its_own_name_alone(watching: Watching) -> None:
    hidden, show = watching.folder / ".evening.tmp", watching.folder / "evening.json"
    hidden.write_text("{}")
    hidden.replace(show)
    watching.until(lambda: show in watching.touched())
    assert watching.touched() == {show}


def test_a_save_renamed_in_from_elsewhere_is_seen(watching: Watching, tmp_path: Path) -> None:
    (tmp_path / "evening.json").write_text("{}")
    (tmp_path / "evening.json").replace(watching.folder / "evening.json")
    watching.until_touched(watching.folder / "evening.json")


def test_files_in_two_hundred_new_nested_folders_are_all_seen(watching: Watching) -> None:
    saved = set()
    for number in range(200):
        folder = watching.folder / f"night{number}" / "act" / "scene"
        folder.mkdir(parents=True)
        (folder / "evening.json").write_text("{}")
        saved.add(folder / "evening.json")
    watching.until(lambda: saved <= watching.touched(), patience=10)


def test_a_folder_deleted_and_made_again_is_watched_again(watching: Watching) -> None:
    shutil.rmtree(watching.folder)
    watching.until(lambda: watching.saw(Away))
    watching.folder.mkdir()
    watching.until(lambda: watching.saw(Back))
    show = watching.folder / "evening.json"
    show.write_text("{}")
    watching.until_touched(show)
    assert not watching.observer.polling


def test_a_folder_swapped_for_another_is_watched_in_its_place(
    watching: Watching, tmp_path: Path
) -> None:
    (tmp_path / "other").mkdir()
    watching.folder.rename(tmp_path / "old")
    (tmp_path / "other").rename(watching.folder)
    watching.later(15)
    watching.until(lambda: watching.saw(Replaced) or watching.saw(Back))
    show = watching.folder / "evening.json"
    show.write_text("{}")
    watching.until_touched(show)


def test_an_error_in_the_handler_ends_no_thread_and_asks_for_a_look(tmp_path: Path) -> None:
    class Failing(Inbox):
        failed = 0

        def put(self, path: Path, *, closed: bool) -> None:
            self.failed += 1
            raise ValueError("no such path")

    stage = Watching(tmp_path / "shows")
    inbox = Failing()
    stage.notices = SystemNotices(inbox=inbox)
    stage.observer = Observer([stage.folder], stage.candidates, stage.notices, time.monotonic)
    stage.observer.start()
    try:
        show = stage.folder / "evening.json"
        show.write_text("{}")
        stage.until_touched(show)
        assert inbox.failed > 0
        assert stage.notices.alive()
    finally:
        stage.observer.stop()


def test_a_dead_thread_is_started_again_and_no_save_is_missed(watching: Watching) -> None:
    for emitter in list(watching.notices._observer.emitters):  # type: ignore[union-attr]
        emitter.stop()
        emitter.join()
    show = watching.folder / "evening.json"
    show.write_text("{}")
    watching.until(lambda: watching.saw(Restarted) and show in watching.touched())
    show.write_text("[]")
    watching.until_touched(show)


@LINUX
def test_a_dead_reader_of_the_system_s_queue_is_noticed_though_all_else_lives(
    watching: Watching,
) -> None:
    observer = watching.notices._observer
    assert observer is not None
    (reader,) = set(watching.notices._threads) - {observer, *observer.emitters}
    reader.stop()  # type: ignore[attr-defined]
    reader.join()
    assert observer.is_alive()
    assert all(emitter.is_alive() for emitter in observer.emitters)
    show = watching.folder / "evening.json"
    show.write_text("{}")
    watching.until(lambda: watching.saw(Restarted) and show in watching.touched())


def test_stopping_ends_every_thread_and_gives_every_descriptor_back(tmp_path: Path) -> None:
    def descriptors() -> int:
        return len(os.listdir("/proc/self/fd")) if sys.platform == "linux" else 0

    stage = Watching(tmp_path / "shows")
    stage.observer.start()
    stage.observer.stop()
    threads, before = threading.active_count(), descriptors()
    for _ in range(10):
        stage.observer.start()
        stage.observer.stop()
    assert threading.active_count() == threads
    assert descriptors() == before


@LINUX
def test_a_change_that_causes_no_notice_is_found_and_leads_to_polling(
    watching: Watching, tmp_path: Path
) -> None:
    """inotify(7) tells of a file by the name it was opened by, in a watched folder."""
    show = watching.folder / "evening.json"
    show.write_text("{}")
    watching.until_touched(show)
    (tmp_path / "other-name.json").hardlink_to(show)  # a notice: its attributes changed
    watching.later(15)
    watching.until_touched(show)
    watching.later(15)
    watching.until(lambda: watching.seen == [Touched(show)])
    (tmp_path / "other-name.json").write_text("[1, 2, 3]")
    watching.later(15)
    watching.until_touched(show)
    assert not watching.observer.polling
    watching.later(3)
    watching.until(lambda: watching.saw(Deaf))
    assert watching.observer.polling


def test_polling_sleeps_between_its_looks_although_a_notice_was_left_behind(
    watching: Watching,
) -> None:
    watching.observer._give_up("a test")
    watching.inbox.put(watching.folder, closed=True)
    watching.observer.sightings()
    began = time.monotonic()
    watching.observer.wait(0.3)
    assert time.monotonic() - began >= 0.25


LIMITED = """
import sys, time
from pathlib import Path
from showvault.watch.notices import SystemNotices
from showvault.watch.observer import Observer
from showvault.watch.sightings import Deaf, Touched

folder = Path(sys.argv[1])
files = lambda: [path for path in folder.rglob("*") if path.is_file()]
observer = Observer([folder], files, SystemNotices(), time.monotonic)
(deaf,) = observer.start()
assert isinstance(deaf, Deaf), deaf
print(deaf.reason)
wanted = {folder / f"night{number}" / "evening.json" for number in range(10)}
for path in wanted:
    path.write_text("{}")
seen, end = set(), time.monotonic() + 5
while seen < wanted and time.monotonic() < end:
    observer.wait(0.05)
    seen |= {one.path for one in observer.sightings() if isinstance(one, Touched)}
assert seen == wanted, seen
"""


@LINUX
def test_when_the_limit_of_watches_is_reached_every_folder_is_covered_by_polling(
    tmp_path: Path,
) -> None:
    """The limit is set in a user namespace of its own (user_namespaces(7)), for nobody else."""
    for number in range(10):
        (tmp_path / f"night{number}").mkdir()
    limit = "echo 5 > /proc/sys/user/max_inotify_watches"
    inside = ["unshare", "--user", "--map-root-user", "sh", "-c"]
    if not shutil.which("unshare") or subprocess.run([*inside, limit], check=False).returncode:
        pytest.skip("NOT RUN: no user namespace here, so the limit of watches could not be lowered")
    ran = subprocess.run(
        [*inside, f'{limit}; exec "$0" -c "$1" "$2"', sys.executable, LIMITED, str(tmp_path)],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
    )
    assert ran.returncode == 0, ran.stderr
    assert "limit" in ran.stdout or "no more watched folders" in ran.stdout


@LINUX
def test_a_queue_that_overflows_asks_for_a_look_at_everything(tmp_path: Path) -> None:
    setting = Path("/proc/sys/fs/inotify/max_queued_events")
    before = setting.read_text()
    try:
        setting.write_text("16")
    except OSError:
        pytest.skip("NOT RUN: this user may not make the system's queue of notices shorter")
    try:
        stage = Watching(tmp_path / "shows")
        stage.observer.start()
    finally:
        setting.write_text(before)
    try:
        saved = {stage.folder / f"evening{number}.json" for number in range(3000)}
        names = "\n".join(str(path) for path in saved)
        subprocess.run(["xargs", "touch"], input=names, text=True, check=True)
        stage.until(lambda: saved <= stage.touched())
        assert not stage.observer.polling
    finally:
        stage.observer.stop()


@LINUX
@pytest.mark.mounts
def test_a_medium_pulled_and_plugged_in_again_loses_nothing(tmp_path: Path) -> None:
    stick = tmp_path / "stick"
    stick.mkdir()

    def mount() -> bool:
        wanted = ["mount", "-t", "tmpfs", "-o", "size=1m", "none", str(stick)]
        return subprocess.run(wanted, check=False, capture_output=True).returncode == 0

    if not mount():
        pytest.skip("NOT RUN: this user may not mount a file system")
    try:
        show = stick / "evening.json"
        show.write_text("{}")
        stage = Watching(stick)
        stage.observer.start()
        subprocess.run(["umount", "-l", str(stick)], check=True)
        stage.later(2)
        stage.until(lambda: stage.saw(Away))
        assert mount()
        show.write_text("[]")
        stage.until(lambda: stage.saw(Back) and show in stage.touched())
        show.write_text("[1]")
        stage.until_touched(show)
        assert not stage.observer.polling
        stage.observer.stop()
    finally:
        while subprocess.run(["umount", "-l", str(stick)], check=False).returncode == 0:
            pass


def test_a_session_on_real_notices_keeps_what_is_saved_while_it_runs(tmp_path: Path) -> None:
    from showvault.watch.clock import MachineClock

    keeper = NotingKeeper()
    show = tmp_path / "evening.json"
    show.write_text("{}")
    session = Session(
        [tmp_path], lambda: [show] if show.exists() else [], keeper, SystemNotices(), MachineClock()
    )
    told = []
    for event in session.events():
        told.append(type(event).__name__)
        if told[-1] == "Ready":
            show.write_text("[]")
        if told.count("Kept") == 2:
            session.stop()
    assert [one for one in told if one != "Finishing"] == ["Kept", "Ready", "Kept", "Stopped"]
    assert [data for _, data in keeper.versions] == [b"{}", b"[]"]
