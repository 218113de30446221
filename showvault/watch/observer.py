"""Which files may have changed, from the system's notices and from looking at everything.

- Notices make it quick; looking at everything every `LOOK_EVERY` seconds makes it sure.
- A folder that is out of sight has lost nothing: no file in it counts as deleted.
- Where notices cannot be had, or prove deaf, it looks every second instead, and says so.
- A notice for a file that is not known yet asks for a look: `candidates` alone says what counts.
"""

from collections.abc import Callable, Sequence
from pathlib import Path

from showvault.errors import ShowvaultError
from showvault.files.reading import FileIdentity, identify
from showvault.watch.hearing import GRACE, Hearing
from showvault.watch.notices import Notices, NoticesUnavailableError, Notifier
from showvault.watch.places import InSight, OutOfSight, Place, look_at
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

LOOK_EVERY = 15.0
GLANCE_EVERY = 2.0
"""Seconds after which the watched places alone are looked at: a moment's work, however large they
are, and what tells that a medium was pulled."""

LOOK_WHEN_AWAY = 2.0
LOOK_WHEN_POLLING = 1.0
LOOK_AT_LEAST_APART = 0.25
SHARE_OF_TIME = 10.0
"""Looking takes at most one part in so many of the time, however large the folder is."""

MENDED_AT_MOST = 3
"""Times within a minute that dead threads are started again before notices are given up."""


class Observer:
    """Looks after the watched paths; everything is asked for, nothing comes by itself."""

    def __init__(
        self,
        watched: Sequence[Path],
        candidates: Callable[[], Sequence[Path]],
        notifier: Notifier,
        monotonic: Callable[[], float],
        *,
        look: Callable[[Path], FileIdentity | None] = identify,
    ) -> None:
        self._watched = tuple(watched)
        self._candidates = candidates
        self._notifier = notifier
        self._monotonic = monotonic
        self._look = look
        self._seen: dict[Path, InSight] = {}
        self._away: set[Path] = set()
        self._known: dict[Path, FileIdentity] = {}
        self._hints: dict[Path, bool] = {}
        self._hearing = Hearing()
        self._polling = False
        self._listening = False
        self._out_of_reach = False
        self._excused = True  # no notice could have told of what the next look finds
        self._next_look = 0.0
        self._next_glance = 0.0
        self._not_before = 0.0
        self._mended: list[float] = []

    @property
    def polling(self) -> bool:
        """Whether it looks every second because there are no notices."""
        return self._polling

    def start(self, *, polling_because: str = "") -> list[Sighting]:
        """Begin to watch, and look at everything: each file comes as Touched."""
        found = self._give_up(polling_because) if polling_because else []
        found += self._look_at_places(self._list_files())
        if not self._listening:  # else a place that is away has begun it already
            found += self._listen()
        return [*found, *self._look_at_everything()]

    def sightings(self) -> list[Sighting]:
        """What happened since the last time."""
        now = self._monotonic()
        found: list[Sighting] = []
        notices = self._notifier.take()  # also when polling: what waits there ends every wait
        if not self._polling:
            found += self._heed(notices, now)
            found += self._mend_if_dead(now)
        if now >= self._next_look:
            found += self._look_at_everything()
        elif now >= self._next_glance and not self._away:
            found += self._glance_at_places(now)
        untold = None if self._polling else self._hearing.untold(now)
        if untold is not None:
            found += self._give_up(f"the system did not tell that {untold.name} had changed")
        return found

    def look_anew(self) -> None:
        """Look at everything at the next opportunity: notices may have been missed."""
        self._excused = True
        self._look_soon()

    def next_wake(self) -> float:
        """The moment of the next look or glance, monotonic."""
        doubt = self._hearing.next_doubt()
        soonest = self._next_look if self._away else min(self._next_look, self._next_glance)
        return soonest if doubt is None else min(soonest, doubt + GRACE)

    def wait(self, seconds: float) -> None:
        """Return when there is something to take, when woken, or after so many seconds."""
        self._notifier.wait(seconds)

    def wake(self) -> None:
        """Let `wait` return; may be called from a signal handler."""
        self._notifier.wake()

    def stop(self) -> None:
        """End every thread that was begun."""
        self._notifier.stop()

    def _look_soon(self) -> None:
        self._next_look = min(self._next_look, self._not_before)

    def _heed(self, notices: Notices, now: float) -> list[Sighting]:
        self._hearing.told(notices.touched, now)
        if notices.lost:
            self.look_anew()
        if self._hearing.is_full():
            self._look_soon()
        found: list[Sighting] = []
        for path, closed in notices.touched.items():
            if path in self._known:
                found.append(Touched(path, closed))
            else:
                self._hints[path] = closed
                self._look_soon()
        return found

    def _mend_if_dead(self, now: float) -> list[Sighting]:
        if self._notifier.alive() or not self._listening:
            return []
        found = self._look_at_places(self._list_files())
        if not found:  # else the folders changed, and listening was begun anew with them
            self._mended = [*(at for at in self._mended if at > now - 60.0), now]
            if len(self._mended) > MENDED_AT_MOST:
                return self._give_up("the system's notices stopped again and again")
            found = [Restarted("the system's notices had stopped"), *self._listen()]
        return [*found, *self._look_at_everything()]

    def _listen(self) -> list[Sighting]:
        """Begin anew to be told about every folder that is in sight."""
        self._excused = True
        if self._polling:
            return []
        in_sight = [place for path, place in self._seen.items() if path not in self._away]
        folders = sorted({place.folder for place in in_sight}, key=lambda folder: folder.path)
        self._listening = bool(folders)
        try:
            if folders:
                self._notifier.start(folders)
            else:
                self._notifier.stop()
        except NoticesUnavailableError as error:
            if all(folder.path.is_dir() for folder in folders):
                return self._give_up(str(error))
            self._look_soon()
            return []
        return []

    def _give_up(self, reason: str) -> list[Sighting]:
        self._polling = True
        self._notifier.stop()
        self._hearing.start_anew()
        self._look_soon()
        return [Deaf(reason)]

    def _look_at_everything(self) -> list[Sighting]:
        began = self._monotonic()
        listed = self._list_files()
        found = self._look_at_places(listed)
        changed: list[Path] = []
        if not isinstance(listed, OutOfSight):
            changed = self._look_at_files(listed)
            found += self._forget_vanished(listed)
        if self._excused:
            self._hearing.start_anew()
        elif not self._polling:
            self._hearing.found(changed, began)
        self._excused = False
        found += [Touched(path, self._hints.get(path, False)) for path in changed]
        self._hints.clear()
        self._plan_next_look(began)
        return found

    def _glance_at_places(self, now: float) -> list[Sighting]:
        self._next_glance = now + GLANCE_EVERY
        found = self._look_at_places(())
        if found:
            self._look_soon()
        return found

    def _list_files(self) -> Sequence[Path] | OutOfSight:
        try:
            return self._candidates()
        except (ShowvaultError, OSError) as error:
            return OutOfSight(str(error))

    def _look_at_places(self, listed: Sequence[Path] | OutOfSight) -> list[Sighting]:
        found: list[Sighting] = []
        for path in self._watched:
            before = self._seen.get(path)
            place = listed if isinstance(listed, OutOfSight) else look_at(path, before)
            found += self._compare(path, before, place)
        return [*found, *self._listen()] if found else found

    def _compare(self, path: Path, before: InSight | None, place: Place) -> list[Sighting]:
        match place:
            case OutOfSight(reason=reason) if path not in self._away:
                self._away.add(path)
                return [Away(path, reason)]
            case InSight():
                self._seen[path] = place
                if path in self._away:
                    self._away.remove(path)
                    self._know_nothing_in(path)
                    return [Back(path)]
                if before is not None and before != place:
                    self._know_nothing_in(path)
                    return [Replaced(path)]
        return []

    def _know_nothing_in(self, place: Path) -> None:
        """Let every file there come as Touched: one may have been waiting when it went away."""
        for path in [path for path in self._known if path == place or place in path.parents]:
            del self._known[path]

    def _look_at_files(self, listed: Sequence[Path]) -> list[Path]:
        """Learn what stands at each path; return those that are new or changed."""
        changed = []
        self._excused = self._excused or self._out_of_reach
        self._out_of_reach = False
        for path in listed:
            if self._is_away(path):
                continue
            try:
                identity = self._look(path)
            except ShowvaultError:
                self._out_of_reach = True  # for now: it is looked at again before long
                continue
            if identity is not None and self._known.get(path) != identity:
                self._known[path] = identity
                changed.append(path)
        return changed

    def _forget_vanished(self, listed: Sequence[Path]) -> list[Sighting]:
        there = set(listed)
        gone = [path for path in self._known if path not in there and not self._is_away(path)]
        for path in gone:
            del self._known[path]
        return [Vanished(path) for path in gone]

    def _is_away(self, path: Path) -> bool:
        return any(path == place or place in path.parents for place in self._away)

    def _plan_next_look(self, began: float) -> None:
        ended = self._monotonic()
        every = LOOK_EVERY
        if self._polling:
            every = LOOK_WHEN_POLLING
        elif self._away or self._out_of_reach:
            every = LOOK_WHEN_AWAY
        rest = max(LOOK_AT_LEAST_APART, SHARE_OF_TIME * (ended - began))
        self._not_before = ended + rest
        self._next_glance = ended + GLANCE_EVERY
        self._next_look = ended + max(every, rest)
