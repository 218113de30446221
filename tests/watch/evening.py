"""A programmer's evening for tests of the session: real files, scripted clock and notices."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from showvault.files.reading import FileIdentity, identify
from showvault.watch.events import WatchEvent
from showvault.watch.session import Session
from tests.fakes import FakeClock, ScriptedNotices
from tests.watch.keepers import NotingKeeper, full_disk


@dataclass(frozen=True)
class SomeLag:
    desk_file: Path
    export: Path | None
    seconds: float


class Evening:
    """A programmer's evening: saves at scripted moments, and all that was told."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.folder.mkdir()
        self.clock = FakeClock()
        self.notices = ScriptedNotices(self.clock)
        self.keeper = NotingKeeper()
        self.told: list[WatchEvent] = []
        self.lag: SomeLag | None = None
        self.unreadable: list[Path] = []
        self.session: Session | None = None
        self.out_of_reach: set[Path] = set()
        # Files get the machine's own times: watching begins long before them or long after.
        self.clock.moment = self.clock.moment.replace(year=2001)

    def begin(self, *, remind_minutes: int = 0, polling_because: str = "") -> None:
        self.session = Session(
            [self.folder],
            self.candidates,
            self.keeper,
            self.notices,
            self.clock,
            remind_minutes=remind_minutes,
            polling_because=polling_because,
            lag=lambda: self.lag,
            unreadable=lambda: self.unreadable,
            look=self.look,
            in_use=lambda path: False,
        )
        self.told += self.session.begin()

    def candidates(self) -> list[Path]:
        found = sorted(self.folder.rglob("*")) if self.folder.exists() else []
        return [path for path in found if not path.is_dir() and not path.name.startswith(".")]

    def look(self, path: Path) -> FileIdentity | None:
        if path in self.out_of_reach:
            raise full_disk(path)
        return identify(path)

    def save(self, name: str, text: str) -> Path:
        path = self.folder / name
        path.write_text(text)
        self.notices.tell(path, closed=True)
        return path

    def run(self, seconds: float, each_step: Callable[[], None] = lambda: None) -> None:
        assert self.session is not None
        end = self.clock.monotonic() + seconds
        while True:
            each_step()
            self.told += self.session.step()
            left = end - self.clock.monotonic()
            if left <= 0:
                return
            self.clock.advance(min(left, self.session.pause()))

    def kinds(self) -> list[type[WatchEvent]]:
        return [type(event) for event in self.told]

    def of(self, kind: type[WatchEvent]) -> list[WatchEvent]:
        return [event for event in self.told if isinstance(event, kind)]
