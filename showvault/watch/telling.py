"""What the watcher tells, as lines for a person, and the one calm line that stays on the screen."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import assert_never

from showvault.report.terminal import clip, safe, say_age, say_ago
from showvault.watch.events import (
    ClockJumped,
    DeskFileAhead,
    Finishing,
    FolderAway,
    FolderBack,
    FolderReplaced,
    GoneUnkept,
    Kept,
    KeptElsewhere,
    Mended,
    Note,
    NotReadableYet,
    Polling,
    Ready,
    Recovered,
    Reminder,
    SavedUnchanged,
    SetAside,
    Skipped,
    SlowToSettle,
    Stopped,
    Trouble,
    WatchEvent,
)

Line = tuple[str, str]
"""How loud a line is ("calm", "notice" or "alarm"), and its text."""


def say_event(event: WatchEvent) -> Line:
    """Say one event; an alarm is about protection that is missing or a save that is not kept."""
    level, text = _words(event)
    return level, f"{event.time:%H:%M:%S}  {text}"


def _words(event: WatchEvent) -> Line:
    match event:
        case Ready():
            return _words_when_ready(event)
        case Kept() | KeptElsewhere():
            return "calm", _say_kept(event)
        case SetAside():
            return "alarm", _say_set_aside(event)
        case NotReadableYet(path=path, reason=reason):
            return "notice", f"{safe(path.name)} is not whole yet ({safe(reason)})"
        case SavedUnchanged(path=path):
            return "calm", f"{safe(path.name)} was written again; these bytes are kept already"
        case SlowToSettle(path=path, seconds=seconds):
            age = say_age(timedelta(seconds=seconds))
            return "notice", f"{safe(path.name)} has been changing for {age}; kept once it rests"
        case Skipped(path=path, reason=reason):
            return "notice", f"{safe(path.name)} is not kept: {safe(reason)}"
        case Trouble(paths=paths, message=message, again_in=again):
            return (
                "alarm",
                f"NOT KEPT: {_names(paths)}: {safe(message)} Trying again in {again:g} s.",
            )
        case Recovered():
            return "notice", "everything that was in trouble is kept now"
        case GoneUnkept(path=path):
            return "alarm", f"LOST: {safe(path.name)} is gone, and its last save was not kept"
        case Stopped(left=left):
            return "alarm" if left else "calm", f"stopped watching{_say_left(left)}"
        case _:
            return _words_on_surroundings(event)


def _words_when_ready(event: Ready) -> Line:
    how = "looking every few seconds" if event.polling else "listening"
    watching = f"watching {_names(event.watched)} ({how})"
    if event.not_whole:
        names = _names(event.not_whole)
        return "alarm", f"{watching}; NOT WHOLE: {names}; all else saved before is safe"
    return "calm", f"{watching}; everything saved before is safe"


def _say_kept(event: Kept | KeptElsewhere) -> str:
    match event:
        case Kept(number=number, path=path, summary=summary, notes=notes):
            more = "".join(f"\n          {safe(note)}" for note in notes)
            # What nobody can describe is summed up by its name, which stands here already.
            what = "" if summary == f"{path.name} saved" else f": {safe(summary)}"
            return f"kept {number}  {safe(path.name)}{what}{more}"
        case KeptElsewhere(number=number, summary=summary):
            return f"kept {number}  by another command: {safe(summary)}"


def _say_set_aside(event: SetAside) -> str:
    stands = (
        "the last whole save of it stays the one that comes back"
        if event.whole_before
        else "NOTHING WHOLE OF IT IS PROTECTED YET"
    )
    return (
        f"SET ASIDE {event.number}  {safe(event.path.name)} is not whole ({safe(event.reason)}): "
        f"its bytes are kept apart from the good versions; {stands}. SAVE AGAIN."
    )


def _say_left(left: tuple[Path, ...]) -> str:
    them = "it" if len(left) == 1 else "them"
    return f"; NOT KEPT: {_names(left)} (the next start looks at {them})" if left else ""


def _words_on_surroundings(
    event: FolderAway
    | FolderBack
    | FolderReplaced
    | Polling
    | Mended
    | Reminder
    | DeskFileAhead
    | ClockJumped
    | Note
    | Finishing,
) -> Line:
    match event:
        case FolderAway(path=path, reason=reason):
            return "alarm", f"NOT PROTECTED: {safe(str(path))} is out of sight ({safe(reason)})"
        case FolderBack(path=path):
            return "notice", f"{safe(str(path))} is back; everything in it was looked at"
        case FolderReplaced(path=path):
            return "notice", f"another folder stands at {safe(str(path))}; that one is watched now"
        case Polling(reason=reason):
            return "notice", f"looking every few seconds instead of listening: {safe(reason)}"
        case Mended(what=what):
            return "notice", f"mended: {safe(what)}"
        case Reminder(minutes=minutes):
            return "alarm", f"NO SAVE SEEN FOR {minutes} MIN: save the show"
        case DeskFileAhead(desk_file=desk, export=export, seconds=seconds):
            lag = say_age(timedelta(seconds=seconds))
            beside = f"{safe(export.name)} is {lag} older" if export else "there is no export"
            return (
                "notice",
                f"{safe(desk.name)} was saved without its export ({beside}): it is kept, but what "
                "changed in it cannot be described",
            )
        case ClockJumped(seconds=seconds):
            where = "ahead" if seconds > 0 else "back"
            age = say_age(timedelta(seconds=abs(seconds)))
            return (
                "notice",
                f"the clock went {where} by {age}; order and waiting do not depend on it",
            )
        case Finishing(left=left, seconds=seconds):
            return (
                "notice",
                f"finishing {_names(left)}: {seconds:g} s at most; Ctrl-C again ends at once",
            )
        case Note(text=text):
            return "notice", safe(text)
        case unknown:
            assert_never(unknown)


@dataclass
class CalmLine:
    """How long ago the last good version was, how many are kept, and what it changed."""

    count: int
    number: int | None = None
    moment: datetime | None = None
    summary: str = ""
    show_number: int | None = None
    show_summary: str = ""
    """The last version in which the show itself was new, and what changed in it."""
    away: set[Path] = field(default_factory=set)
    not_kept: set[Path] = field(default_factory=set)
    not_whole: set[Path] = field(default_factory=set)

    @property
    def alarm(self) -> str:
        """Say what is wrong now, the worst of it; empty when nothing is."""
        if self.away:
            return f"NOT PROTECTED: {', '.join(map(str, sorted(self.away)))} is out of sight"
        if self.not_kept:
            return f"NOT KEPT: {_names(tuple(sorted(self.not_kept)))} (see above)"
        if self.not_whole:
            names = _names(tuple(sorted(self.not_whole)))
            if self.number is None:
                return f"NOTHING WHOLE IS PROTECTED YET. SAVE AGAIN: {names}"
            return f"SAVE AGAIN: {names} was not whole when it was saved last"
        return ""

    def heed(self, event: WatchEvent) -> None:
        """Take note of an event."""
        match event:
            case Kept(path=path):
                self._take_version(event)
                self.not_kept.discard(path)
                self.not_whole.clear()  # a newer whole save is what the person was asked for
            case KeptElsewhere():
                self._take_version(event)
            case SavedUnchanged(path=path):
                self.not_kept.discard(path)
                self.not_whole.discard(path)  # only a whole file is told as unchanged
            case SetAside(number=number, path=path):
                self.count = max(self.count, number)  # bytes that came back have an older one
                self.not_kept.discard(path)
                self.not_whole.add(path)
            case FolderAway(path=path):
                self.away.add(path)
            case FolderBack(path=path):
                self.away.discard(path)
            case GoneUnkept(path=path):
                self.not_kept.discard(path)
            case Trouble(paths=paths):
                self.not_kept.update(paths)
            case Recovered():
                self.not_kept.clear()

    def _take_version(self, event: Kept | KeptElsewhere) -> None:
        if event.number == self.show_number and not event.of_the_show:
            return  # kept beside the show in the same version, which is told by the show
        self.count = self.number = event.number
        self.moment, self.summary = event.time, event.summary
        if event.of_the_show:
            self.show_number, self.show_summary = event.number, event.summary

    def say(self, now: datetime, width: int) -> str:
        """Return the line, cut to the width of the screen."""
        if self.alarm:
            return clip(safe(self.alarm), width)
        if self.moment is None:
            return clip("nothing is kept yet: save the show", width)
        ago = say_ago(self.moment, now)
        told = [f"last good version {self.number}, {ago}", f"{self.count} kept", safe(self.summary)]
        if self.show_number not in (None, self.number):
            told.append(f"the show itself {self.show_number}: {safe(self.show_summary)}")
        return clip("; ".join(told), width)


def _names(paths: tuple[Path, ...]) -> str:
    return ", ".join(safe(path.name) for path in paths)
