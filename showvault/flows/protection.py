"""Whether the show is protected now: who watches, what was kept last, what is not described."""

import hashlib
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from showvault.errors import ShowvaultError
from showvault.files.lock import Holder, read_holder
from showvault.files.reading import identify, read_settled
from showvault.flows.candidates import find_saves
from showvault.vault.checking import Damage
from showvault.vault.glancing import glance_at_vault
from showvault.vault.opening import Vault
from showvault.vault.times import moment_of_file
from showvault.vault.versions import Version, list_versions

SAME_SAVE = timedelta(seconds=30)
"""A desk's own file and its export that were written this close together are one save."""

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
    """Watched places that are not there now."""
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
    broken: tuple[Path, ...]
    """Files that lie there as they were set aside: not whole."""
    ahead: DeskFileAhead | None
    damages: tuple[Damage, ...] = ()
    """What a glance at the vault finds damaged; a whole look finds more."""

    @property
    def protected(self) -> bool:
        """Tell whether the next save will be kept by itself."""
        return self.watcher is not None and not self.missing


def look_at_protection(vault: Vault) -> Protection:
    """Find out whether the show is protected. Reads no show."""
    versions = list_versions(vault.store)
    roots = tuple(Path(path) for path in vault.description.watched)
    saves = {
        path: moment_of_file(identity.mtime_ns).astimezone()
        for path in find_saves(roots, without=vault.folder)
        if (identity := identify(path)) is not None
    }
    newest = versions[0] if versions else None
    good = next((version for version in versions if version.good), None)
    ring = vault.paths.ring
    held = _find_held(saves, versions)
    return Protection(
        name=vault.description.name,
        folder=vault.folder,
        watched=roots,
        missing=tuple(root for root in roots if _is_gone(root, saves, good)),
        watcher=read_holder(vault.paths.locks, "watcher"),
        newest=newest,
        newest_good=good,
        newest_show=last_of_show(versions),
        count=len(versions),
        ring=sum(1 for entry in ring.iterdir() if entry.is_file()) if ring.is_dir() else 0,
        last_save=max(saves.values(), default=None),
        unkept=tuple(path for path in saves if path not in held),
        broken=tuple(path for path, by in held.items() if not by.good),
        ahead=desk_file_ahead(good, saves) if good else None,
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


def _is_gone(root: Path, saves: Collection[Path], good: Version | None) -> bool:
    """Tell whether a watched place is away; of a pulled stick an empty folder may stay behind."""
    if not root.exists():
        return True
    lay_there = good is not None and any(
        Path(file.path).is_relative_to(root) for file in good.files
    )
    return lay_there and not any(path.is_relative_to(root) for path in saves)


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
        identity = identify(path)
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
