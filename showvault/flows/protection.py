"""Whether the show is protected now: who watches, what was kept last, what is not described."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from showvault.files.lock import Holder, read_holder
from showvault.files.reading import identify
from showvault.flows.candidates import find_saves
from showvault.vault.opening import Vault
from showvault.vault.versions import Version, list_versions

SAME_SAVE = timedelta(seconds=30)
"""A desk's own file and its export that were written this close together are one save."""


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
        """The same in seconds."""
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
    count: int
    ring: int
    last_save: datetime | None
    """When the newest file in the watched places was written, by its own time."""
    unkept: tuple[Path, ...]
    """Saves that lie there and are newer than the newest version."""
    ahead: DeskFileAhead | None

    @property
    def protected(self) -> bool:
        """Tell whether the next save will be kept by itself."""
        return self.watcher is not None and not self.missing


def look_at_protection(vault: Vault) -> Protection:
    """Find out whether the show is protected. Reads no show."""
    versions = list_versions(vault.store)
    roots = tuple(Path(path) for path in vault.description.watched)
    saves = {
        path: datetime.fromtimestamp(identity.mtime_ns / 1e9).astimezone()
        for path in find_saves(roots, without=vault.folder)
        if (identity := identify(path)) is not None
    }
    newest = versions[0] if versions else None
    good = next((version for version in versions if version.good), None)
    ring = vault.paths.ring
    return Protection(
        name=vault.description.name,
        folder=vault.folder,
        watched=roots,
        missing=tuple(root for root in roots if not root.exists()),
        watcher=read_holder(vault.paths.locks, "watcher"),
        newest=newest,
        newest_good=good,
        count=len(versions),
        ring=sum(1 for entry in ring.iterdir() if entry.is_file()) if ring.is_dir() else 0,
        last_save=max(saves.values(), default=None),
        unkept=_unkept(saves, versions),
        ahead=desk_file_ahead(good, saves) if good else None,
    )


def desk_file_ahead(
    version: Version, now: Mapping[Path, datetime] | None = None
) -> DeskFileAhead | None:
    """Tell whether a desk's own file of a version is newer than the readable show beside it.

    The files' own times are compared as they were when the version was kept; ``now`` holds those
    of files that lie there, where the present counts.
    """
    times = {**_times_then(version), **(now or {})}
    show = version.show_file
    desk_files = [Path(file.path) for file in version.files if file.role == "opaque"]
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
        Path(file.path): datetime.fromtimestamp(file.saved_ns / 1e9).astimezone()
        for file in version.files
        if file.saved_ns
    }


def _unkept(saves: dict[Path, datetime], versions: Sequence[Version]) -> tuple[Path, ...]:
    """Name the saves written after the version that holds them: a hint, since times can lie."""
    kept_at: dict[str, tuple[datetime, int]] = {}
    for version in versions:
        for file in version.files:
            kept_at.setdefault(file.path, (version.moment, file.size))
    unkept = []
    for path, written in saves.items():
        kept = kept_at.get(str(path))
        identity = identify(path)
        changed = identity is not None and kept is not None and identity.size != kept[1]
        if kept is None or changed or written > kept[0] + timedelta(seconds=2):
            unkept.append(path)
    return tuple(unkept)
