"""One watcher's life: from the first look at everything to the last save before it ends.

- First the system's notices begin, then everything is looked at, and what is new is kept; only
  then is it Ready.
- One loop in the caller's thread: see, settle, keep, tell. Nothing in it ends by an error of the
  disk, the folder or the keeper.
- When asked to stop it finishes what is under way: a file that is still settling is waited for.
"""

import contextlib
from collections.abc import Callable, Collection, Iterator, Sequence
from pathlib import Path

from showvault.errors import ShowvaultError
from showvault.files.reading import FileIdentity, identify
from showvault.watch.alarms import (
    BlindSpots,
    ClockWatch,
    ExportWatch,
    Lag,
    SaveReminder,
    VaultWatch,
)
from showvault.watch.events import (
    Finishing,
    FolderAway,
    FolderBack,
    FolderReplaced,
    Kept,
    Mended,
    Note,
    Polling,
    Ready,
    SavedUnchanged,
    SetAside,
    Stopped,
    WatchEvent,
)
from showvault.watch.kinds import KnownKinds
from showvault.watch.notices import Notifier
from showvault.watch.observer import Observer
from showvault.watch.others import OthersVersions
from showvault.watch.saving import Clock, Keeper, Saving
from showvault.watch.settling import Settling
from showvault.watch.sightings import (
    Away,
    Back,
    Deaf,
    Replaced,
    Restarted,
    Sighting,
    Touched,
    Vanished,
)
from showvault.watch.writers import is_open_for_writing

FINISH_WITHIN = 7.0
"""Seconds that stopping waits for files which are still settling."""

OLD_ENOUGH = 10.0
"""Seconds: a file that has not changed for so long when watching begins needs no more rest."""

SHORTEST_WAIT = 0.05
LONGEST_WAIT = 1.0
"""Not every system lets a signal end a wait; dead threads are found as soon as this."""


class Session:
    """Watches ``watched`` and keeps what settles there. Iterate over `events` to let it work.

    ``candidates`` lists the files that count, without reading them; ``lag`` tells whether the
    desk's own file is ahead of its export; ``unreadable`` lists the folders that ``candidates``
    could not look into; ``vault_is_there`` tells whether ``vault``, where versions are kept, is
    where it was; ``polling_because`` is empty where the system's notices are to be used.
    """

    def __init__(
        self,
        watched: Sequence[Path],
        candidates: Callable[[], Sequence[Path]],
        keeper: Keeper,
        notifier: Notifier,
        clock: Clock,
        *,
        remind_minutes: int = 20,
        polling_because: str = "",
        lag: Callable[[], Lag | None] = lambda: None,
        unreadable: Callable[[], Collection[Path]] = tuple,
        vault: Path | None = None,
        vault_is_there: Callable[[], bool] = lambda: True,
        look: Callable[[Path], FileIdentity | None] = identify,
        in_use: Callable[[Path], bool] = is_open_for_writing,
    ) -> None:
        self._watched = tuple(watched)
        self._keeper = keeper
        self._clock = clock
        self._look = look
        self._polling_because = polling_because
        kinds = KnownKinds()
        self._settling = Settling(look, in_use, kinds.kind_of)
        self._observer = Observer(watched, candidates, notifier, clock.monotonic, look=look)
        self._saving = Saving(keeper, self._settling, kinds, clock)
        self._reminder = SaveReminder(remind_minutes, clock.monotonic(), clock.wall())
        self._exports = ExportWatch(lag)
        self._blind_spots = BlindSpots(unreadable)
        self._vault = VaultWatch(vault, vault_is_there)
        self._others = OthersVersions(keeper.newest)
        self._clocks = ClockWatch(clock.monotonic(), clock.wall())
        self._awaited: dict[Path, FileIdentity] | None = {}
        self._stopping = False

    def stop(self) -> None:
        """Finish what is under way and end; may be called from a signal handler."""
        self._stopping = True
        self._observer.wake()

    def stopped(self) -> Stopped:
        """Say that it ended, and which files are left that are not kept yet."""
        return Stopped(time=self._clock.wall(), left=tuple(sorted(self._settling.waiting())))

    def events(self) -> Iterator[WatchEvent]:
        """Work, and tell what happens, until `stop` is called."""
        try:
            yield from self.begin()
            while not self._stopping:
                yield from self.step()
                self._observer.wait(min(self.pause(), LONGEST_WAIT))
            yield from self._finish()
        finally:
            self._observer.stop()

    def begin(self) -> Iterator[WatchEvent]:
        """Begin to watch; everything that is there waits to be looked into."""
        for sighting in self._observer.start(polling_because=self._polling_because):
            yield from self._heed(sighting, rested=self._age)
        self._awaited = self._settling.waiting()

    def step(self) -> Iterator[WatchEvent]:
        """See what happened, keep what rests, tell what is due."""
        jump = self._clocks.compare(self._clock.monotonic(), self._clock.wall())
        if jump is not None:
            self._observer.look_anew()
            yield jump
        for sighting in self._observer.sightings():
            yield from self._heed(sighting, rested=_not_at_all)
        yield from self._others.look(self._clock.wall())
        settlements = self._settling.tick(self._clock.monotonic())
        for event in self._saving.deal_with(settlements):
            if self._awaited is None or not isinstance(event, SavedUnchanged):
                yield event  # at the start most files are as they were: that is not a save
            yield from self._follow_up(event)
        yield from self._vault.look(self._clock.monotonic(), self._clock.wall())
        yield from self._blind_spots.look(self._clock.wall())
        yield from self._ready_when_all_is_safe()
        yield from self._alarms()

    def pause(self) -> float:
        """Seconds until the next `step` that may find something by itself."""
        moments = (
            self._observer.next_wake(),
            self._settling.next_wake(),
            self._reminder.next_wake(),
            self._exports.next_wake(),
        )
        soonest = min(moment for moment in moments if moment is not None)
        return max(SHORTEST_WAIT, soonest - self._clock.monotonic())

    def _heed(self, sighting: Sighting, *, rested: Callable[[Path], float]) -> Iterator[WatchEvent]:
        time = self._clock.wall()
        match sighting:
            case Touched(path=path, closed=closed):
                now = self._clock.monotonic()
                self._settling.touched(path, now, closed=closed, rested=rested(path))
            case Vanished(path=path):
                self._settling.forget([path])
                yield from self._saving.forget([path])
            case Away(path=path, reason=reason):
                yield FolderAway(time=time, path=path, reason=reason)
            case Back(path=path):
                yield FolderBack(time=time, path=path)
            case Replaced(path=path):
                yield FolderReplaced(time=time, path=path)
            case Restarted(what=what):
                yield Mended(time=time, what=what)
            case Deaf(reason=reason):
                self._settling.poll_from_now_on()
                yield Polling(time=time, reason=reason)

    def _follow_up(self, event: WatchEvent) -> Iterator[WatchEvent]:
        now = self._clock.monotonic()
        self._others.heed(event)
        match event:
            case Kept() | SetAside():
                self._reminder.saw_save(now, event.time)
                self._exports.saw_version(now)
                for text in self._tidy_up():
                    yield Note(time=self._clock.wall(), text=text)
                self._get_ready()
            case SavedUnchanged():
                self._reminder.saw_save(now, event.time)

    def _tidy_up(self) -> Sequence[str]:
        try:
            return self._keeper.afterwards()
        except Exception as error:  # the version is safe; tidying up can wait
            return [f"the version is kept, but tidying up after it failed: {error}"]

    def _get_ready(self) -> None:
        """Let the next save take less time; what is wrong with the vault, that save will tell."""
        with contextlib.suppress(Exception):
            self._keeper.get_ready()

    def _ready_when_all_is_safe(self) -> Iterator[WatchEvent]:
        """What was there at the start and has not changed since must be dealt with first."""
        if self._awaited is None:
            return
        waiting = self._settling.waiting()
        self._awaited = {
            path: identity
            for path, identity in self._awaited.items()
            if waiting.get(path) == identity
        }
        if not self._awaited and not self._saving.failing():
            self._awaited = None
            self._reminder.saw_save(self._clock.monotonic(), self._clock.wall())
            polling = self._observer.polling
            yield Ready(
                time=self._clock.wall(),
                watched=self._watched,
                polling=polling,
                not_whole=tuple(sorted(self._saving.not_whole())),
            )
            self._get_ready()

    def _alarms(self) -> Iterator[WatchEvent]:
        now, moment = self._clock.monotonic(), self._clock.wall()
        reminder = self._reminder.remind(now, moment)
        if reminder is not None:
            yield reminder
        try:
            ahead = self._exports.ask(now, moment)
        except Exception as error:
            text = f"whether the desk's file is ahead of its export is not known: {error}"
            yield Note(time=moment, text=text)
        else:
            if ahead is not None:
                yield ahead

    def _finish(self) -> Iterator[WatchEvent]:
        deadline = self._clock.monotonic() + FINISH_WITHIN
        yield from self.step()
        left = self._settling.waiting().keys() - set(self._saving.failing())
        if left:
            time = self._clock.wall()
            yield Finishing(time=time, left=tuple(sorted(left)), seconds=FINISH_WITHIN)
        while self._settling.waiting().keys() - set(self._saving.failing()):
            if self._clock.monotonic() >= deadline:
                break
            self._observer.wait(min(self.pause(), deadline - self._clock.monotonic()))
            yield from self.step()
        yield self.stopped()

    def _age(self, path: Path) -> float:
        """Seconds for which a file has rested, by its own times; 0 where they prove nothing."""
        if self._observer.polling:
            return 0.0  # another machine's clock, or one of two-second steps, may have set them
        try:
            identity = self._look(path)
        except ShowvaultError:
            return 0.0
        if identity is None:
            return 0.0
        changed = max(identity.mtime_ns, identity.ctime_ns) / 1e9
        age = self._clock.wall().timestamp() - changed
        return OLD_ENOUGH if age >= OLD_ENOUGH else 0.0


def _not_at_all(path: Path) -> float:
    return 0.0
