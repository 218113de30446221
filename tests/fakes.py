"""Stand-ins for what a test must decide itself: the clock, what the system tells, who we are."""

import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

from showvault.watch.coverage import WatchedFolder
from showvault.watch.notices import Notices, NoticesUnavailableError


@dataclass
class FakeClock:
    """A wall clock and a monotonic one that move when they are told to."""

    seconds: float = 1000.0
    moment: datetime = datetime(2026, 11, 25, 20, 0, tzinfo=UTC)

    def wall(self) -> datetime:
        return self.moment

    def monotonic(self) -> float:
        return self.seconds

    def advance(self, seconds: float) -> None:
        self.seconds += seconds
        self.moment += timedelta(seconds=seconds)

    def jump(self, seconds: float) -> None:
        """Set the wall clock alone, as a person or the network does."""
        self.moment += timedelta(seconds=seconds)


@dataclass
class ScriptedNotices:
    """Notices that a test writes; waiting moves the fake clock instead of sleeping."""

    clock: FakeClock
    touched: dict[Path, bool] = field(default_factory=dict)
    lost: str = ""
    living: bool = True
    unavailable: str = ""
    folders: list[Sequence[WatchedFolder]] = field(default_factory=list)
    stopped: int = 0
    on_wait: Callable[[], None] = lambda: None

    def tell(self, path: Path, *, closed: bool = False) -> None:
        self.touched[path] = closed

    def start(self, folders: Sequence[WatchedFolder]) -> None:
        self.folders.append(tuple(folders))
        if self.unavailable:
            raise NoticesUnavailableError(self.unavailable)
        self.living = True

    def take(self) -> Notices:
        notices = Notices(self.touched, self.lost)
        self.touched, self.lost = {}, ""
        return notices

    def wait(self, seconds: float) -> None:
        self.clock.advance(seconds)
        self.on_wait()

    def wake(self) -> None:
        pass

    def alive(self) -> bool:
        return self.living

    def stop(self) -> None:
        self.stopped += 1


@contextmanager
def without_the_rights_of_root() -> Iterator[None]:
    """As a person is who may not read everything, also where root runs the tests."""
    if os.geteuid():
        yield
        return
    os.seteuid(65534)  # nobody
    try:
        yield
    finally:
        os.seteuid(0)
