"""What is done with a file that rests: it is kept, set aside, waited for, or tried again.

- What the keeper calls whole or unproven is kept; an unproven file must have rested longer.
- A file that is not whole is told at once, and set aside if it stays so for `BROKEN_PATIENCE` more.
- Whatever fails, the whole save is done again after a pause, from reading on; a file that failed
  is then tried by itself, so that it cannot hold up the others.
"""

import hashlib
from collections.abc import Callable, Collection, Generator, Iterator, Sequence
from datetime import datetime
from pathlib import Path
from typing import Protocol

from showvault.errors import ShowvaultError
from showvault.files.reading import (
    FileGoneError,
    FileTooBigError,
    NotAPlainFileError,
    SettledFile,
    StillChangingError,
    read_settled,
)
from showvault.flows.outcomes import Kept as KeptVersion
from showvault.flows.outcomes import SetAside as SetAsideVersion
from showvault.flows.outcomes import Unchanged
from showvault.show.reading import Wholeness
from showvault.vault.versions import Version
from showvault.watch.events import (
    GoneUnkept,
    Kept,
    NotReadableYet,
    Recovered,
    SavedUnchanged,
    SetAside,
    Skipped,
    SlowToSettle,
    Trouble,
    WatchEvent,
)
from showvault.watch.kinds import KnownKinds
from showvault.watch.settling import Glimpse, Restless, Settled, Settlement, Settling

BROKEN_PATIENCE = 5.0
PAUSES = (2.0, 5.0, 15.0, 30.0, 60.0)
"""Seconds before each next attempt; the last one from then on."""

AT_ONCE = 64 * 1024 * 1024
"""Bytes of files that are read into memory together, unless a single one has more."""


class Keeper(Protocol):
    """Makes versions; what it returns as kept is safe."""

    def judge(self, path: Path, data: bytes) -> Wholeness: ...

    def knows(self, path: Path) -> bool: ...

    def keep(
        self, files: Sequence[SettledFile], *, when: datetime
    ) -> Sequence[KeptVersion | Unchanged]: ...

    def set_aside(
        self, file: SettledFile, reason: str, *, when: datetime
    ) -> SetAsideVersion | Unchanged: ...

    def afterwards(self) -> Sequence[str]: ...

    def get_ready(self) -> None: ...

    def newest(self) -> Version | None: ...


class Clock(Protocol):
    """The two clocks: one for people, one for waiting."""

    def wall(self) -> datetime: ...

    def monotonic(self) -> float: ...


class Saving:
    """Deals with what `Settling` hands over, and tells what came of it."""

    def __init__(
        self,
        keeper: Keeper,
        settling: Settling,
        kinds: KnownKinds,
        clock: Clock,
        *,
        read: Callable[[Path], SettledFile] = read_settled,
    ) -> None:
        self._keeper = keeper
        self._settling = settling
        self._kinds = kinds
        self._clock = clock
        self._read = read
        self._broken: dict[Path, Settled] = {}
        self._attempts: dict[Path, int] = {}
        self._not_whole: set[Path] = set()
        self._troubles: dict[str, tuple[list[Path], ShowvaultError | None]] = {}

    def failing(self) -> Collection[Path]:
        """The files whose last attempt failed."""
        return self._attempts.keys()

    def not_whole(self) -> Collection[Path]:
        """The files whose last save was not whole, and was set aside."""
        return self._not_whole

    def deal_with(self, settlements: Sequence[Settlement]) -> Iterator[WatchEvent]:
        """Keep what can be kept; each event comes as soon as it is true."""
        settled: list[Settled] = []
        for settlement in settlements:
            match settlement:
                case Restless(path=path, seconds=seconds):
                    yield SlowToSettle(time=self._clock.wall(), path=path, seconds=seconds)
                case Glimpse(path=path):
                    yield from self._glimpse(path)
                case Settled():
                    settled.append(settlement)
        for batch in self._batches(settled):
            yield from self._save(batch)
        yield from self._tell_troubles()

    def forget(self, paths: Sequence[Path]) -> Iterator[WatchEvent]:
        """These files are gone; tell of those that could not be kept before."""
        for path in paths:
            self._broken.pop(path, None)
            self._not_whole.discard(path)
            if self._attempts.pop(path, None) is not None:
                yield GoneUnkept(time=self._clock.wall(), path=path)

    def _batches(self, settled: Sequence[Settled]) -> Iterator[list[Settled]]:
        batch: list[Settled] = []
        size = 0
        for one in sorted(settled, key=lambda one: (one.identity.mtime_ns, one.path)):
            if one.path in self._attempts:
                yield [one]
                continue
            if batch and size + one.identity.size > AT_ONCE:
                yield batch
                batch, size = [], 0
            batch.append(one)
            size += one.identity.size
        if batch:
            yield batch

    def _save(self, batch: Sequence[Settled]) -> Iterator[WatchEvent]:
        files: list[SettledFile] = []
        for settled in batch:
            file = yield from self._read_again(settled)
            if file is None:
                continue
            judgement = self._judge(file)
            if judgement.state == "broken":
                yield from self._wait_or_set_aside(settled, file, judgement.reason)
                continue
            self._broken.pop(file.path, None)
            self._not_whole.discard(file.path)
            rest = self._settling.rest_for(file.path)
            if judgement.state == "unproven" and settled.rested < rest:
                self._settling.hold(file.path, rest)
            else:
                files.append(file)
        if files and (yield from self._keep(files)):
            for file in files:
                yield from self._done(file)

    def _read_again(self, settled: Settled) -> Generator[WatchEvent, None, SettledFile | None]:
        path = settled.path
        now = self._clock.monotonic()
        try:
            file = self._read(path)
        except FileGoneError:
            self._settling.touched(path, now, closed=False)
            yield from self.forget([path])
        except StillChangingError:
            self._settling.again_at(path, now + 1.0)
            self._settling.touched(path, now, closed=False)
        except (NotAPlainFileError, FileTooBigError) as error:
            self._settling.done(path, settled.identity, now)
            yield Skipped(time=self._clock.wall(), path=path, reason=str(error), hint=error.hint)
        except (ShowvaultError, OSError, MemoryError) as error:
            self._failed([path], error)
        else:
            if file.identity == settled.identity:
                return file
            self._settling.touched(path, now, closed=False)
        return None

    def _judge(self, file: SettledFile) -> Wholeness:
        try:
            judgement = self._keeper.judge(file.path, file.data)
        except Exception as error:  # whatever a reader does, the bytes are kept
            return Wholeness("unproven", f"it could not be judged: {error}")
        self._kinds.learn(file.path, "unproven" if judgement.state == "unproven" else "proving")
        return judgement

    def _wait_or_set_aside(
        self, settled: Settled, file: SettledFile, reason: str
    ) -> Iterator[WatchEvent]:
        path = settled.path
        known = self._broken.get(path)
        rest = self._settling.rest_for(path) + BROKEN_PATIENCE
        if settled.rested < rest and (known is None or known.identity != settled.identity):
            self._broken[path] = settled
            self._settling.hold(path, settled.rested + BROKEN_PATIENCE)
            yield NotReadableYet(time=self._clock.wall(), path=path, reason=reason)
            return
        try:
            outcome = self._keeper.set_aside(file, reason, when=self._clock.wall())
            whole_before = self._keeper.knows(path)
        except Exception as error:
            self._failed([path], error)
            return
        self._not_whole.add(path)
        # Broken bytes that come back, or are found at the start, are as much of an alarm as new
        # ones: what was saved last cannot be loaded.
        yield SetAside(
            time=self._clock.wall(),
            number=outcome.version.number,
            path=path,
            reason=reason,
            whole_before=whole_before,
        )
        yield from self._done(file)

    def _keep(self, files: Sequence[SettledFile]) -> Generator[WatchEvent, None, bool]:
        try:
            outcomes = self._keeper.keep(files, when=self._clock.wall())
        except Exception as error:  # a watcher that ends with an error protects nobody
            self._failed([file.path for file in files], error)
            return False
        for outcome in outcomes:
            match outcome:
                case KeptVersion():
                    yield self._told(outcome)
                case Unchanged(version=version, path=path) if path in self._attempts:
                    # An attempt that was reported as failed had kept it all the same.
                    (data,) = (file.data for file in files if file.path == path)
                    yield self._told(KeptVersion(version, path, hashlib.sha256(data).hexdigest()))
                case Unchanged(path=path):
                    yield SavedUnchanged(time=self._clock.wall(), path=path)
        return True

    def _told(self, kept: KeptVersion) -> Kept:
        return Kept(
            time=self._clock.wall(),
            number=kept.version.number,
            path=kept.path,
            sha256=kept.sha256,
            summary=kept.summary,
            notes=tuple(kept.notes),
            of_the_show=kept.is_the_show,
        )

    def _glimpse(self, path: Path) -> Iterator[WatchEvent]:
        """Keep a file that never rests as it is now, if it is whole now; it is waited for still."""
        try:
            file = self._read(path)
        except (ShowvaultError, OSError, MemoryError):
            return
        if self._judge(file).state == "whole":
            yield from self._keep([file])

    def _done(self, file: SettledFile) -> Iterator[WatchEvent]:
        self._settling.done(file.path, file.identity, self._clock.monotonic())
        if self._attempts.pop(file.path, None) is not None and not self._attempts:
            yield Recovered(time=self._clock.wall())

    def _failed(self, paths: Sequence[Path], error: Exception) -> None:
        known = error if isinstance(error, ShowvaultError) else None
        message = str(error) if known else f"keeping failed unexpectedly: {error!r}"
        self._troubles.setdefault(message, ([], known))[0].extend(paths)

    def _tell_troubles(self) -> Iterator[WatchEvent]:
        troubles, self._troubles = self._troubles, {}
        now = self._clock.monotonic()
        for message, (paths, error) in troubles.items():
            attempt = max(self._attempts.get(path, 0) for path in paths)
            pause = PAUSES[min(attempt, len(PAUSES) - 1)]
            for path in paths:
                self._attempts[path] = attempt + 1
                self._settling.again_at(path, now + pause)
            yield Trouble(
                time=self._clock.wall(),
                paths=tuple(paths),
                message=message,
                hint=error.hint if error else None,
                again_in=pause,
            )
