"""Whether the show is protected now: who watches, what was kept last, what is not described."""

import hashlib
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from showvault.errors import ShowvaultError
from showvault.files.disk import DiskError
from showvault.files.lock import Holder, read_holder
from showvault.files.reading import LIMIT, FileIdentity, identify, read_settled
from showvault.flows.candidates import find_saves
from showvault.vault.checking import Damage
from showvault.vault.glancing import glance_at_vault
from showvault.vault.opening import Vault
from showvault.vault.times import moment_of_file
from showvault.vault.versions import Version, list_versions

SAME_SAVE = timedelta(seconds=30)
"""A desk's own file and its export that were written this close together are one save."""

LATE_AFTER = 15.0
"""Seconds of rest after which a watcher that works has kept a save: it waits for four at most."""

NO_DESK_FILES = (
    *(".mvr", ".gdtf", ".csv", ".tsv", ".xlsx", ".xls", ".ods"),
    *(".pdf", ".txt", ".md", ".rtf", ".doc", ".docx", ".odt"),
    *(".png", ".jpg", ".jpeg", ".gif", ".heic", ".svg", ".mp3", ".wav", ".mp4", ".mov"),
)
"""Endings of what people lay beside a show, no desk's own file (common practice, no source)."""


@dataclass(frozen=True)
class DeskFileAhead:
    """A desk's own file is newer than the readable show, which describes an older state."""

    desk_file: Path
    desk_time: datetime
    export: Path
    export_time: datetime

    @property
    def lag(self) -> timedelta:
        """How long a time is not described."""
        return self.desk_time - self.export_time

    @property
    def seconds(self) -> float:
        """The same in seconds, as the watcher tells it."""
        return self.lag.total_seconds()


@dataclass(frozen=True)
class Protection:
    """What ``status`` tells."""

    name: str
    folder: Path
    watched: tuple[Path, ...]
    missing: tuple[Path, ...]
    """Watched places that are not there now, or folders in them whose saves are out of sight."""
    watcher: Holder | None
    newest: Version | None
    newest_good: Version | None
    newest_show: Version | None
    """The last good version in which the show itself was new."""
    count: int
    ring: int
    last_save: datetime | None
    """When the newest file in the watched places was written, by its own time."""
    unkept: tuple[Path, ...]
    """Saves that lie there and whose bytes no version holds."""
    late: tuple[Path, ...]
    """Those of them that a watcher that works would have kept by now."""
    broken: tuple[Path, ...]
    """Files that lie there as they were set aside: not whole."""
    ahead: DeskFileAhead | None
    unreadable: tuple[Path, ...] = ()
    """Folders in the watched places that this user may not look into."""
    damages: tuple[Damage, ...] = ()
    """What a glance at the vault finds damaged; a whole look finds more."""

    @property
    def protected(self) -> bool:
        """Tell whether the next save will be kept by itself."""
        return self.watcher is not None and not self.missing and not self.late


def look_at_protection(vault: Vault) -> Protection:
    """Find out whether the show is protected. Reads no show."""
    versions = list_versions(vault.store)
    roots = tuple(Path(path) for path in vault.description.watched)
    unreadable: list[Path] = []
    saves = {
        path: moment_of_file(identity.mtime_ns).astimezone()
        for path in find_saves(roots, without=vault.folder, unreadable=unreadable.append)
        if (identity := _identify(path)) is not None
    }
    newest = versions[0] if versions else None
    good = next((version for version in versions if version.good), None)
    ring = vault.paths.ring
    held = _find_held(saves, versions)
    unkept = tuple(path for path in saves if path not in held)
    watcher = read_holder(vault.paths.locks, "watcher")
    return Protection(
        name=vault.description.name,
        folder=vault.folder,
        watched=roots,
        missing=(
            *(root for root in roots if _is_gone(root, saves, good)),
            *(folder for folder in unreadable if folder not in roots and _lay_in(folder, good)),
        ),
        watcher=watcher,
        newest=newest,
        newest_good=good,
        newest_show=last_of_show(versions),
        count=len(versions),
        ring=sum(1 for entry in ring.iterdir() if entry.is_file()) if ring.is_dir() else 0,
        last_save=max(saves.values(), default=None),
        unkept=unkept,
        late=tuple(path for path in unkept if _is_late(path, watcher, vault.clock())),
        broken=tuple(path for path, by in held.items() if not by.good),
        ahead=desk_file_ahead(good, saves) if good else None,
        unreadable=tuple(unreadable),
        damages=tuple(glance_at_vault(vault, versions)),
    )


def last_of_show(versions: Iterable[Version]) -> Version | None:
    """Return the last good version in which the show itself was new, of versions newest first."""
    return next((version for version in versions if version.good and version.renews_show), None)


def desk_file_ahead(
    version: Version, now: Mapping[Path, datetime] | None = None
) -> DeskFileAhead | None:
    """Tell whether a desk's own file of a version is newer than the readable show beside it.

    The files' own times are compared as they were when the version was kept; ``now`` holds those
    of files that lie there, where the present counts.
    """
    times = {**_times_then(version), **(now or {})}
    show = version.show_file
    desk_files = [
        Path(file.path)
        for file in version.files
        if file.role == "opaque" and not file.name.lower().endswith(NO_DESK_FILES)
    ]
    desk = max(((times[path], path) for path in desk_files if path in times), default=None)
    if show is None or desk is None or Path(show.path) not in times:
        return None
    export = times[Path(show.path)]
    if desk[0] - export < SAME_SAVE:
        return None
    return DeskFileAhead(desk[1], desk[0], Path(show.path), export)


def find_lag(version: Version | None) -> DeskFileAhead | None:
    """Tell of the newest good version whether its desk file is ahead now; None where it is not."""
    return None if version is None else desk_file_ahead(version)


def _times_then(version: Version) -> dict[Path, datetime]:
    return {
        Path(file.path): moment_of_file(file.saved_ns).astimezone()
        for file in version.files
        if file.saved_ns
    }


def _is_late(path: Path, watcher: Holder | None, now: datetime) -> bool:
    """Tell whether a save rests for so long, and under this watcher, that it should be kept."""
    identity = _identify(path)
    if watcher is None or identity is None or identity.size > LIMIT:
        return False
    since = max(identity.mtime_ns, identity.ctime_ns) / 1e9
    return now.timestamp() - max(since, _moment_of(watcher)) > LATE_AFTER


def _moment_of(watcher: Holder) -> float:
    try:
        return datetime.fromisoformat(watcher.since).timestamp()
    except ValueError:  # what it wrote of itself is damaged
        return 0.0


def _is_gone(root: Path, saves: Collection[Path], good: Version | None) -> bool:
    """Tell whether a watched place is away; of a pulled stick an empty folder may stay behind."""
    try:
        if not root.exists():
            return True
        is_folder = root.is_dir()
    except OSError:  # nobody here may even look whether it is there
        return True
    if not _lay_in(root, good):
        return False
    stands_for_a_folder = not is_folder and root not in _paths(good)
    return stands_for_a_folder or not any(path.is_relative_to(root) for path in saves)


def _lay_in(place: Path, good: Version | None) -> bool:
    """Tell whether the last good version has a file of this place."""
    return any(path.is_relative_to(place) for path in _paths(good))


def _paths(good: Version | None) -> list[Path]:
    return [] if good is None else [Path(file.path) for file in good.files]


def _identify(path: Path) -> FileIdentity | None:
    try:
        return identify(path)
    except DiskError:  # its folder may be listed, but nothing in it looked at
        return None


def _find_held(saves: Collection[Path], versions: Sequence[Version]) -> dict[Path, Version]:
    """Find for each save the newest version that holds its bytes; others are not kept yet.

    A file of the same size and time as when it was kept is taken for the same; any other is read.
    """
    by_time: dict[tuple[str, int, int], Version] = {}
    by_bytes: dict[str, Version] = {}
    sizes: set[int] = set()
    for version in versions:
        for file in version.files:
            by_time.setdefault((file.path, file.size, file.saved_ns), version)
            by_bytes.setdefault(file.sha256, version)
            sizes.add(file.size)
    held: dict[Path, Version] = {}
    for path in saves:
        identity = _identify(path)
        if identity is None or identity.size not in sizes:
            continue
        found = by_time.get((str(path), identity.size, identity.mtime_ns))
        found = found or by_bytes.get(_digest(path))
        if found is not None:
            held[path] = found
    return held


def _digest(path: Path) -> str:
    try:
        return hashlib.sha256(read_settled(path).data).hexdigest()
    except ShowvaultError:
        return ""
