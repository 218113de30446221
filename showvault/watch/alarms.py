"""When the person at the desk is to be told something although no file changed.

Seconds are those of a monotonic clock; the wall clock is only compared with it.
"""

from collections.abc import Callable, Collection, Iterator
from datetime import datetime
from pathlib import Path
from typing import Protocol

from showvault.files.disk import shown
from showvault.watch.events import (
    ClockJumped,
    DeskFileAhead,
    FolderAway,
    FolderBack,
    Note,
    Reminder,
)

JUMP = 60.0
"""Seconds by which the wall clock may leave the monotonic one between two looks at both."""

LOOK_EVERY = 2.0
"""Seconds between two looks whether the vault is there: a moment's work."""

EXPORT_PATIENCE = 30.0
"""Seconds that an export may come later than the desk's own file."""


class Lag(Protocol):
    """The desk's own file is newer than the readable export beside it."""

    @property
    def desk_file(self) -> Path: ...
    @property
    def export(self) -> Path | None: ...
    @property
    def seconds(self) -> float: ...


class SaveReminder:
    """Speaks up when no save came for ``minutes``; 0: never."""

    def __init__(self, minutes: int, now: float, moment: datetime) -> None:
        self._minutes = minutes
        self.saw_save(now, moment)

    def saw_save(self, now: float, moment: datetime) -> None:
        """A save was seen, changed or not."""
        self._since = now
        self._moment = moment
        self._reminded = 0

    def remind(self, now: float, moment: datetime) -> Reminder | None:
        """The reminder, if one is due: once each ``minutes``."""
        due = self.next_wake()
        if due is None or now < due:
            return None
        self._reminded = int((now - self._since) / 60.0 / self._minutes)
        minutes = int((now - self._since) / 60.0)
        return Reminder(time=moment, minutes=minutes, since=self._moment)

    def next_wake(self) -> float | None:
        """When the next reminder is due."""
        if self._minutes <= 0:
            return None
        return self._since + 60.0 * self._minutes * (self._reminded + 1)


class ExportWatch:
    """Asks, some time after a version was kept, whether the desk's file came without its export."""

    def __init__(self, lag: Callable[[], Lag | None]) -> None:
        self._lag = lag
        self._ask_at: float | None = None

    def saw_version(self, now: float) -> None:
        """A version was kept: give the export time to come as well."""
        self._ask_at = now + EXPORT_PATIENCE

    def ask(self, now: float, moment: datetime) -> DeskFileAhead | None:
        """What is to be told now, once for each version."""
        if self._ask_at is None or now < self._ask_at:
            return None
        self._ask_at = None
        lag = self._lag()
        if lag is None:
            return None
        return DeskFileAhead(
            time=moment, desk_file=lag.desk_file, export=lag.export, seconds=lag.seconds
        )

    def next_wake(self) -> float | None:
        """When it asks."""
        return self._ask_at


class ClockWatch:
    """Notices that the wall clock was set, or that the machine slept."""

    def __init__(self, now: float, moment: datetime) -> None:
        self._ahead = moment.timestamp() - now

    def compare(self, now: float, moment: datetime) -> ClockJumped | None:
        """The jump since the last comparison, if there was one."""
        ahead = moment.timestamp() - now
        jump, self._ahead = ahead - self._ahead, ahead
        if abs(jump) <= JUMP:
            return None
        return ClockJumped(time=moment, seconds=jump)


class VaultWatch:
    """Tells when the vault itself is not where it was: then no save can be kept."""

    def __init__(self, vault: Path | None, is_there: Callable[[], bool]) -> None:
        self._vault = vault
        self._is_there = is_there
        self._gone = False
        self._look_at = 0.0

    def look(self, now: float, moment: datetime) -> Iterator[FolderAway | FolderBack]:
        """What there is to tell, once."""
        if self._vault is None or now < self._look_at:
            return
        self._look_at = now + LOOK_EVERY
        gone = not self._is_there()
        if gone and not self._gone:
            reason = "the vault was moved or deleted, or its disk is not there"
            yield FolderAway(time=moment, path=self._vault, reason=reason)
        if self._gone and not gone:
            yield FolderBack(time=moment, path=self._vault)
        self._gone = gone


class BlindSpots:
    """Tells once of each folder in the watched places that this user may not look into."""

    def __init__(self, unreadable: Callable[[], Collection[Path]]) -> None:
        self._unreadable = unreadable
        self._told: frozenset[Path] = frozenset()

    def look(self, moment: datetime) -> Iterator[Note]:
        """What there is to tell; a folder that can be read again is told of when it cannot."""
        now = frozenset(self._unreadable())
        for folder in sorted(now - self._told):
            text = f"{shown(folder)} is not looked into: this user may not read it"
            yield Note(time=moment, text=f"{text}; what is saved there is NOT KEPT")
        self._told = now
