"""When a file that was touched has come to rest, so that it may be read.

- A file rests once its identity (device, inode, size, both times) has not changed for a while.
- The while: 1 s, or 0.5 s after a close or a rename, for formats that prove they are complete; 2 s
  for those that do not, and then nobody may have it open for writing; 4 s where only polling tells.
  Measured: at these times none of 120 slow writers was taken for complete in a format that
  proves itself, and the look five seconds later finds the others.
- A close only shortens the wait, it never decides.
- Files that change at the same time are handed over together, if the wait for that is short.
- One that never rests is told once, and glimpsed at once a minute: a glimpse may be whole.

Seconds are those of a monotonic clock. No thread, no sleep: the caller says what time it is.
"""

import sys
from collections.abc import Callable, Collection
from pathlib import Path
from typing import Literal

import msgspec

from showvault.errors import ShowvaultError
from showvault.files.reading import FileIdentity

Kind = Literal["proving", "unproven"]
"""Whether a file's format shows by itself that the file is complete."""

REST_CLOSED = 0.5
REST_PROVING = 1.0
REST_UNPROVEN = 2.0 if sys.platform == "linux" else 4.0
"""Elsewhere nobody can be asked who has the file open without getting in their way."""

REST_POLLING = 4.0
OPEN_PATIENCE = 30.0
"""A desk that never closes its file must not keep it from being kept."""

TOGETHER = 2.5
RESTLESS = 60.0
LOOK_AGAIN = 5.0
OUT_OF_REACH = 1.0

UNSEEN = FileIdentity(-1, -1, -1, -1, -1)
"""The identity of no file."""


class Settled(msgspec.Struct, frozen=True):
    """A file that rests."""

    path: Path
    identity: FileIdentity
    rested: float
    """Seconds for which it has not changed."""


class Glimpse(msgspec.Struct, frozen=True):
    """A file that never rests; it is worth a try whether it is whole at this moment."""

    path: Path


class Restless(msgspec.Struct, frozen=True):
    """A file that has changed for `RESTLESS` seconds without a rest; said once each time."""

    path: Path
    seconds: float


Settlement = Settled | Glimpse | Restless


class _Changing(msgspec.Struct, frozen=True):
    identity: FileIdentity
    first: float
    since: float
    due: float
    closed: bool
    held: bool = False
    glimpse: float | None = None


class _Resting(msgspec.Struct, frozen=True):
    identity: FileIdentity
    look_again: float | None


class Settling:
    """The files that are being waited for, and those that rest.

    ``look`` gives the identity of a path, None when nothing is there, and raises ShowvaultError
    when nobody can tell now; ``in_use`` tells whether
    somebody has it open for writing; ``kind_of`` what is known of a path's format.
    """

    def __init__(
        self,
        look: Callable[[Path], FileIdentity | None],
        in_use: Callable[[Path], bool],
        kind_of: Callable[[Path], Kind],
    ) -> None:
        self._look = look
        self._in_use = in_use
        self._kind_of = kind_of
        self._polling = False
        self._files: dict[Path, _Changing | _Resting] = {}

    def poll_from_now_on(self) -> None:
        """Only regular looks tell of changes from here on: wait longer."""
        self._polling = True

    def touched(self, path: Path, now: float, *, closed: bool, rested: float = 0.0) -> None:
        """Something happened to ``path``; ``closed``: its writer was done with it.

        ``rested``: seconds for which it is known to have rested already.
        """
        known = self._files.get(path)
        try:
            identity = self._look(path)
        except ShowvaultError:
            self._look_later(path, now)
            return
        if identity is None:
            self._let_go(path, now)
        elif known is None or known.identity != identity:
            self._begin(path, identity, now, closed=closed, rested=rested)
        elif isinstance(known, _Changing) and closed and not known.closed and not known.held:
            due = min(known.due, known.since + self.rest_for(path, closed=True))
            self._files[path] = msgspec.structs.replace(known, closed=True, due=due)

    def tick(self, now: float) -> list[Settlement]:
        """What came to rest, or shows that it does not. Answer each Settled with `done`,
        `hold`, `again_at` or `forget`; else it is handed over once more a little later."""
        found: list[Settlement] = []
        ready: list[tuple[Settled, _Changing]] = []
        for path, state in list(self._files.items()):
            match state:
                case _Resting(look_again=float(at)) if now >= at:
                    self._files[path] = msgspec.structs.replace(state, look_again=None)
                    self.touched(path, now, closed=False)
                case _Changing():
                    found += self._restless(path, state, now)
                    if now >= state.due:
                        ready += self._ready(path, now)
        if not self._wait_for_others(ready, now):
            for settled, state in ready:
                self._postpone(settled.path, state, now + LOOK_AGAIN)
                found.append(settled)
        return found

    def next_wake(self) -> float | None:
        """The moment of the next `tick` that may find something; None: not before a touch."""
        moments: list[float] = []
        for state in self._files.values():
            match state:
                case _Resting(look_again=float(at)):
                    moments.append(at)
                case _Changing(due=due, first=first, glimpse=glimpse):
                    moments += [due, glimpse if glimpse is not None else first + RESTLESS]
        return min(moments, default=None)

    def done(self, path: Path, identity: FileIdentity, now: float) -> None:
        """``path`` was dealt with as it was with ``identity``."""
        self._files[path] = _Resting(identity, now + LOOK_AGAIN)

    def hold(self, path: Path, rested: float) -> None:
        """Hand ``path`` over once more when it has rested for ``rested`` seconds."""
        match self._files.get(path):
            case _Changing(since=since) as state:
                self._files[path] = msgspec.structs.replace(state, due=since + rested, held=True)

    def again_at(self, path: Path, moment: float) -> None:
        """Hand ``path`` over once more at ``moment``."""
        match self._files.get(path):
            case _Changing() as state:
                self._files[path] = msgspec.structs.replace(state, due=moment, held=True)

    def forget(self, paths: Collection[Path]) -> None:
        """These are not there any more."""
        for path in paths:
            self._files.pop(path, None)

    def waiting(self) -> dict[Path, FileIdentity]:
        """The files that were touched and not dealt with yet."""
        return {
            path: state.identity
            for path, state in self._files.items()
            if isinstance(state, _Changing)
        }

    def rest_for(self, path: Path, *, closed: bool = False) -> float:
        """Seconds that this file must rest before it is read."""
        if self._polling:
            return REST_POLLING
        if self._kind_of(path) == "unproven":
            return REST_UNPROVEN
        return REST_CLOSED if closed else REST_PROVING

    def _begin(
        self, path: Path, identity: FileIdentity, now: float, *, closed: bool, rested: float
    ) -> None:
        since = now - rested
        due = since + self.rest_for(path, closed=closed)
        match self._files.get(path):
            case _Changing(first=first, glimpse=glimpse):
                state = _Changing(identity, first, since, due, closed, False, glimpse)
            case _:
                state = _Changing(identity, now, since, due, closed)
        self._files[path] = state

    def _look_later(self, path: Path, now: float) -> None:
        """Out of reach for the moment: nothing is known, so nothing is given up."""
        match self._files.get(path):
            case _Changing() as state:
                self._postpone(path, state, now + OUT_OF_REACH)
            case _Resting(identity=identity):
                self._files[path] = _Resting(identity, now + OUT_OF_REACH)
            case None:
                self._files[path] = _Resting(UNSEEN, now + OUT_OF_REACH)

    def _let_go(self, path: Path, now: float) -> None:
        """Gone; one that was waited for is looked for once more: it may only be renamed."""
        state = self._files.pop(path, None)
        if isinstance(state, _Changing):
            self._files[path] = _Resting(UNSEEN, now + LOOK_AGAIN)

    def _ready(self, path: Path, now: float) -> list[tuple[Settled, _Changing]]:
        self.touched(path, now, closed=False)
        match self._files.get(path):
            case _Changing(identity=identity, since=since, due=due) as state if now >= due:
                if not self._still_written(path, now - since):
                    return [(Settled(path, identity, now - since), state)]
                self._postpone(path, state, now + REST_PROVING)
        return []

    def _still_written(self, path: Path, rested: float) -> bool:
        if self._kind_of(path) == "proving" or rested >= OPEN_PATIENCE:
            return False
        return self._in_use(path)

    def _restless(self, path: Path, state: _Changing, now: float) -> list[Settlement]:
        if state.held or now < state.first + RESTLESS or now < (state.glimpse or 0.0):
            return []
        self._files[path] = msgspec.structs.replace(state, glimpse=now + RESTLESS)
        told: list[Settlement] = []
        if state.glimpse is None:
            told.append(Restless(path, now - state.first))
        return [*told, Glimpse(path)]

    def _wait_for_others(self, ready: Collection[tuple[Settled, _Changing]], now: float) -> bool:
        dues = [state.due for _, state in ready if not state.held]
        if len(dues) < len(ready) or not ready or now - min(dues) >= TOGETHER:
            return False
        names = {settled.path for settled, _ in ready}
        return any(
            path not in names and not state.held and state.glimpse is None
            for path, state in self._files.items()
            if isinstance(state, _Changing)
        )

    def _postpone(self, path: Path, state: _Changing, moment: float) -> None:
        self._files[path] = msgspec.structs.replace(state, due=moment)
