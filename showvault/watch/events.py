"""What a watcher tells the person at the desk, one value for each thing that happened.

As JSON each is one object with ``event`` (its name), ``time`` and the fields below.
"""

from datetime import datetime
from pathlib import Path

import msgspec


def _snake(name: str) -> str:
    return "".join(f"_{letter.lower()}" if letter.isupper() else letter for letter in name)[1:]


class Told(msgspec.Struct, frozen=True, kw_only=True, tag_field="event", tag=_snake):
    """Anything a watcher tells, with the moment it was told."""

    time: datetime
    """Aware; for people and for versions only, never for waiting."""


class Ready(Told, frozen=True, tag=_snake):
    """It watches, and everything that was saved before is safe."""

    watched: tuple[Path, ...]
    polling: bool
    """Whether it looks at regular intervals because the system's events cannot be had."""

    not_whole: tuple[Path, ...] = ()
    """Files whose last save is not whole: all the others are safe."""


class Kept(Told, frozen=True, tag=_snake):
    """A version is safe from here on."""

    number: int
    path: Path
    sha256: str
    """Of the file's bytes, lower-case hex."""

    summary: str
    notes: tuple[str, ...] = ()
    of_the_show: bool = True
    """Whether the file is the show, and not one beside it."""


class KeptElsewhere(Told, frozen=True, tag=_snake):
    """A version is safe that somebody else kept in this vault: by hand, or by a restore."""

    number: int
    summary: str
    of_the_show: bool = True
    """Whether the show itself is new in the version, and not only a file beside it."""


class SetAside(Told, frozen=True, tag=_snake):
    """The file is not whole; its bytes are kept and numbered, the last good version stands."""

    number: int
    path: Path
    reason: str
    whole_before: bool = True
    """Whether an earlier, whole save of this file is kept."""


class NotReadableYet(Told, frozen=True, tag=_snake):
    """The file rests but is not whole; it is set aside unless it changes soon."""

    path: Path
    reason: str


class SavedUnchanged(Told, frozen=True, tag=_snake):
    """The file was saved again with the very bytes the vault has already."""

    path: Path


class SlowToSettle(Told, frozen=True, tag=_snake):
    """The file has been changing without a rest; it is kept once it rests."""

    path: Path
    seconds: float


class Skipped(Told, frozen=True, tag=_snake):
    """Something stands there that cannot be kept as a show file."""

    path: Path
    reason: str
    hint: str | None = None


class FolderAway(Told, frozen=True, tag=_snake):
    """What is watched is out of sight: nothing in it is protected until it is back."""

    path: Path
    reason: str


class FolderBack(Told, frozen=True, tag=_snake):
    """What is watched is in sight again, and all in it was looked at."""

    path: Path


class FolderReplaced(Told, frozen=True, tag=_snake):
    """Another folder stands where the watched one stood; it is the one watched now."""

    path: Path


class Polling(Told, frozen=True, tag=_snake):
    """The system's events cannot be relied on here: it looks at regular intervals instead."""

    reason: str


class Mended(Told, frozen=True, tag=_snake):
    """A part of the watcher had failed and works again; everything was looked at anew."""

    what: str


class Trouble(Told, frozen=True, tag=_snake):
    """These saves are not kept yet; the whole save is tried again."""

    paths: tuple[Path, ...]
    message: str
    again_in: float
    """Seconds until the next attempt."""

    hint: str | None = None


class Recovered(Told, frozen=True, tag=_snake):
    """Everything that was in trouble is kept now."""


class GoneUnkept(Told, frozen=True, tag=_snake):
    """A file is gone whose last save could not be kept before."""

    path: Path


class Reminder(Told, frozen=True, tag=_snake):
    """No save has been seen for a while."""

    minutes: int
    since: datetime
    """When the last save was seen, or the watching began."""


class DeskFileAhead(Told, frozen=True, tag=_snake):
    """The desk's own file was saved without its export: what it holds is not described."""

    desk_file: Path
    export: Path | None
    seconds: float
    """How much older the export is."""


class ClockJumped(Told, frozen=True, tag=_snake):
    """The machine's clock was set, or the machine slept; waiting does not depend on it."""

    seconds: float
    """Forward when positive."""


class Note(Told, frozen=True, tag=_snake):
    """Something that was found or done after a version was kept."""

    text: str


class Finishing(Told, frozen=True, tag=_snake):
    """The watcher was asked to end, and waits for files that are being saved."""

    left: tuple[Path, ...]
    seconds: float
    """How long it waits at most."""


class Stopped(Told, frozen=True, tag=_snake):
    """The watcher ended; what it had said is kept stays kept."""

    left: tuple[Path, ...] = ()
    """Files that were still changing or could not be kept; the next start looks at them."""


WatchEvent = (
    Ready
    | Kept
    | KeptElsewhere
    | SetAside
    | NotReadableYet
    | SavedUnchanged
    | SlowToSettle
    | Skipped
    | FolderAway
    | FolderBack
    | FolderReplaced
    | Polling
    | Mended
    | Trouble
    | Recovered
    | GoneUnkept
    | Reminder
    | DeskFileAhead
    | ClockJumped
    | Note
    | Finishing
    | Stopped
)


def event_as_json(event: WatchEvent) -> bytes:
    """One JSON object on one line, without the line feed (RFC 8259)."""
    return msgspec.json.encode(event, enc_hook=_encode_path)


def _encode_path(value: Path) -> str:
    # A name that is not Unicode on disk cannot stand in JSON as it is.
    return str(value).encode("utf-8", "backslashreplace").decode("utf-8")
