"""What the system tells of changed files, gathered until the watcher has time for it.

- A notice says only that something happened to a path; what stands there is looked at later.
- The handler never raises: an error in it would end the thread that brings all further notices.
- Whatever was lost on the way (a full queue, here or in the system) asks for a look at everything.
"""

import logging
import os
import threading
import warnings
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

import msgspec

from showvault.watch.coverage import WatchedFolder, folders_left_out

if TYPE_CHECKING:
    from watchdog.events import FileSystemEvent, FileSystemEventHandler
    from watchdog.observers.api import BaseObserver

AT_MOST = 10_000
"""Paths that wait to be looked at; beyond it everything is looked at."""

TELLING = frozenset({"created", "modified", "moved", "deleted", "closed", "attrib"})
"""Reading a file tells of itself too (opened, closed_no_write): that is no change."""


class Notices(msgspec.Struct, frozen=True):
    """What was told since the last time."""

    touched: dict[Path, bool]
    """Each path, and whether its writer was done with it."""

    lost: str = ""
    """Why some may be missing; empty when none is."""


class NoticesUnavailableError(Exception):
    """The system does not tell of changes here; its text is a reason for people."""


class Notifier(Protocol):
    """Where notices come from."""

    def start(self, folders: Sequence[WatchedFolder]) -> None:
        """Begin anew with these folders. Raises NoticesUnavailableError."""

    def take(self) -> Notices:
        """Everything told since the last time."""

    def wait(self, seconds: float) -> None:
        """Return when something is told, when woken, or after so many seconds."""

    def wake(self) -> None:
        """Let `wait` return; may be called from a signal handler."""

    def alive(self) -> bool:
        """Whether every thread that brings notices still runs."""

    def stop(self) -> None:
        """Tell nothing any more; fine when it is not running."""


class Inbox:
    """Notices that wait, one a path, bounded."""

    def __init__(self) -> None:
        self._changed = threading.Condition()
        self._touched: dict[Path, bool] = {}
        self._lost = ""
        self._woken = False

    def put(self, path: Path, *, closed: bool) -> None:
        """Something happened to ``path``."""
        with self._changed:
            if path in self._touched or len(self._touched) < AT_MOST:
                self._touched[path] = closed
            else:
                self._lost = "more files changed at once than were waited for"
            self._changed.notify_all()

    def put_lost(self, why: str) -> None:
        """Something happened, nobody knows where."""
        with self._changed:
            self._lost = why
            self._changed.notify_all()

    def wake(self) -> None:
        """Let the next `wait`, or the one that goes on, return."""
        with self._changed:
            self._woken = True
            self._changed.notify_all()

    def take(self) -> Notices:
        """Everything that waits."""
        with self._changed:
            notices = Notices(self._touched, self._lost)
            self._touched, self._lost = {}, ""
            return notices

    def wait(self, seconds: float) -> None:
        """Return when something is there, when woken, or after so many seconds."""
        with self._changed:
            self._changed.wait_for(
                lambda: bool(self._touched or self._lost or self._woken), timeout=seconds
            )
            self._woken = False


class NoNotices:
    """For places where the system tells nothing: only waits."""

    def __init__(self) -> None:
        self._inbox = Inbox()

    def start(self, folders: Sequence[WatchedFolder]) -> None:
        """Nothing to begin."""

    def take(self) -> Notices:
        """Nothing is ever told."""
        return Notices({})

    def wait(self, seconds: float) -> None:
        """Return when woken or after so many seconds."""
        self._inbox.wait(seconds)

    def wake(self) -> None:
        """Let `wait` return."""
        self._inbox.wake()

    def alive(self) -> bool:
        """Nothing runs, so nothing can die."""
        return True

    def stop(self) -> None:
        """Nothing to end."""


class SystemNotices:
    """Notices from the operating system, by way of watchdog."""

    def __init__(
        self,
        *,
        inbox: Inbox | None = None,
        left_out: Callable[[Sequence[WatchedFolder]], int] = folders_left_out,
    ) -> None:
        self._left_out = left_out
        self._inbox = inbox or Inbox()
        self._observer: BaseObserver | None = None
        self._threads: list[threading.Thread] = []
        self._log = _LossLog(self._inbox)

    def start(self, folders: Sequence[WatchedFolder]) -> None:
        """Begin anew with these folders. Raises NoticesUnavailableError."""
        from watchdog.observers import Observer

        self.stop()
        logging.getLogger("watchdog").addHandler(self._log)
        # It warns, on the terminal, of every new folder that it happens to find twice.
        warnings.filterwarnings("ignore", category=RuntimeWarning, module="watchdog")
        before = set(threading.enumerate())
        try:
            self._observer = Observer()
            handler = _handler_for(self._inbox)
            for folder in folders:
                self._observer.schedule(handler, str(folder.path), recursive=folder.recursive)
            self._observer.start()
            # One that is made or removed between two counts is in neither by the second time.
            left_out = self._left_out(folders) and self._left_out(folders)
        except (OSError, RuntimeError) as error:
            self.stop()
            raise NoticesUnavailableError(_in_words(error)) from error
        if left_out:
            self.stop()
            raise NoticesUnavailableError(
                f"the system leaves {left_out} of the folders out: its limit of watches is reached"
            )
        new = set(threading.enumerate()) - before
        self._threads = [thread for thread in new if thread.daemon]

    def take(self) -> Notices:
        """Everything told since the last time."""
        return self._inbox.take()

    def wait(self, seconds: float) -> None:
        """Return when something is told, when woken, or after so many seconds."""
        self._inbox.wait(seconds)

    def wake(self) -> None:
        """Let `wait` return; may be called from a signal handler."""
        self._inbox.wake()

    def alive(self) -> bool:
        """Whether every thread that brings notices still runs."""
        observer = self._observer
        if observer is None or not observer.is_alive():
            return False
        emitters = all(emitter.is_alive() for emitter in list(observer.emitters))
        return emitters and all(thread.is_alive() for thread in self._threads)

    def stop(self) -> None:
        """Tell nothing any more; fine when it is not running."""
        observer, self._observer, self._threads = self._observer, None, []
        logging.getLogger("watchdog").removeHandler(self._log)
        if observer is None:
            return
        try:
            observer.stop()
            if observer.ident is not None:
                observer.join(timeout=5)
        except (OSError, RuntimeError) as error:
            # Its folder may be gone with the medium; there is nothing left to give back.
            logging.getLogger(__name__).debug("the observer ended with %s", error)


class _LossLog(logging.Handler):
    """Watchdog tells of a full queue in its log alone."""

    def __init__(self, inbox: Inbox) -> None:
        super().__init__(level=logging.WARNING)
        self._inbox = inbox

    def emit(self, record: logging.LogRecord) -> None:
        self._inbox.put_lost("the system lost notices of changed files")


def _handler_for(inbox: Inbox) -> "FileSystemEventHandler":
    from watchdog.events import FileSystemEventHandler

    class _Handler(FileSystemEventHandler):
        def dispatch(self, event: "FileSystemEvent") -> None:
            try:
                _note(inbox, event)
            except Exception as error:  # an error here would end the thread that calls
                inbox.put_lost(f"a notice could not be read: {error}")

    return _Handler()


def _note(inbox: Inbox, event: "FileSystemEvent") -> None:
    kind = event.event_type
    if kind not in TELLING or (event.is_directory and kind == "modified"):
        return  # a folder is "modified" with every file in it, which tells of itself
    for name in (event.src_path, event.dest_path):
        if name:
            closed = kind == "closed" or (kind == "moved" and name == event.dest_path)
            inbox.put(Path(os.fsdecode(name)), closed=closed)


def _in_words(error: Exception) -> str:
    import errno

    code = getattr(error, "errno", None)
    if code in (errno.ENOSPC, errno.EMFILE):
        return "the system allows no more watched folders to this user"
    return str(error) or type(error).__name__
