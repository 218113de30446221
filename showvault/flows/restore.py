"""Bringing a whole version back, so that nothing is overwritten that is not kept.

What stands where the bytes go is kept as a version first; what comes back is a version too, so that
restoring ``previous`` undoes a restore.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from showvault.errors import ShowvaultError
from showvault.files.disk import FileSystem
from showvault.files.durable import replace_by_pieces
from showvault.files.reading import SettledFile, identify, read_settled
from showvault.flows.incoming import path_of
from showvault.flows.keep import Keeper
from showvault.flows.outcomes import Saying, Unchanged
from showvault.flows.stored import StoredFile, stored_file
from showvault.vault.versions import Version, VersionFile

_BEFORE = Saying(note="kept before a restore")


class NoSuchFileError(ShowvaultError):
    """A version holds no file of that name."""

    exit_code = 4

    def __init__(self, version: Version, wanted: str) -> None:
        names = ", ".join(file.name for file in version.files)
        super().__init__(
            f"version {version.number} holds no file named {wanted!r}", hint=f"it holds: {names}"
        )


class FolderGoneError(ShowvaultError):
    """The folder that a file should come back into is not there."""

    exit_code = 4

    def __init__(self, folder: Path) -> None:
        super().__init__(
            f"the folder {folder} is not there, so nothing was written",
            hint="put the stick in or make the folder again, or say --to FILE",
        )


class SeveralFilesError(ShowvaultError):
    """A version without a show holds several files, and only one can go to one place."""

    exit_code = 2

    def __init__(self, version: Version) -> None:
        names = ", ".join(file.name for file in version.files)
        super().__init__(
            f"version {version.number} holds several files: {names}",
            hint="say which one with --file NAME",
        )


@dataclass(frozen=True)
class RestoredFile:
    """A file whose bytes are those of the version again."""

    path: Path
    size: int
    sha256: str
    written: bool
    """False where the very bytes stood there already."""


@dataclass(frozen=True)
class Restored:
    """What a restore did."""

    source: Version
    files: tuple[RestoredFile, ...]
    replaced: tuple[Version, ...]
    """The versions in which what stood there before is kept."""
    version: Version | None
    """The new version, where a watched show file came back."""
    before: Version | None = None
    """The version that was the show before."""
    not_recorded: ShowvaultError | None = None
    """Why the files came back and no version tells of it: the vault refused to be written."""


def choose_file(version: Version, name: str | None) -> VersionFile:
    """Return the file that was asked for: by name, else the version's show, else its only one."""
    if name is not None:
        for file in version.files:
            if name in (file.name, file.path):
                return file
        raise NoSuchFileError(version, name)
    show = version.show_file
    if show is not None:
        return show
    if len(version.files) == 1:
        return version.files[0]
    raise SeveralFilesError(version)


def restore_to(
    keeper: Keeper, version: Version, file: VersionFile, target: Path, *, when: datetime
) -> Restored:
    """Write one file of a version to a place of its own; what stands there is kept first."""
    stored = stored_file(keeper.vault.store, version, file)
    if identify(target) is not None:
        stored.verify()  # else it is verified while it is written
    before = _shown(keeper)
    ours = keeper.knows(target) and version.good
    replaced = keep_what_stands(keeper, [target], when)
    restored = _write(target, stored, keeper.vault.disk)

    def record() -> Version | None:
        if ours:
            return _keep_again(keeper, [restored], version, when)
        return _keep_beside_again(keeper, restored, version, when) if replaced else None

    return _recorded(Restored(version, (restored,), replaced, None, before), record)


def restore_in_place(
    keeper: Keeper, version: Version, files: Sequence[VersionFile], *, when: datetime
) -> Restored:
    """Write files of a version back under their own names; what stands there is kept first."""
    store = keeper.vault.store
    before = _shown(keeper)
    contents = [(path_of(file.path), stored_file(store, version, file)) for file in files]
    for _, stored in contents:
        stored.verify()
    replaced = keep_what_stands(keeper, [target for target, _ in contents], when)
    disk = keeper.vault.disk
    restored = tuple(_write(target, stored, disk) for target, stored in contents)

    def record() -> Version | None:
        return _keep_again(keeper, restored, version, when) if version.good else None

    return _recorded(Restored(version, restored, replaced, None, before), record)


def _recorded(restored: Restored, record: Callable[[], Version | None]) -> Restored:
    """Return what a restore did with the version that tells of it, or why there is none.

    The files are back by now, whatever the vault says: that must not be reported as a failure.
    """
    try:
        return replace(restored, version=record())
    except ShowvaultError as error:
        return replace(restored, not_recorded=error)


def _shown(keeper: Keeper) -> Version | None:
    keeper.known.look_again()
    return keeper.known.newest_show


def keep_what_stands(
    keeper: Keeper, targets: Sequence[Path], when: datetime, saying: Saying = _BEFORE
) -> tuple[Version, ...]:
    """Keep or set aside what stands where something will be written; return the new versions."""
    whole: list[SettledFile] = []
    versions: list[Version] = []
    for target in targets:
        if identify(target) is None:
            continue
        file = read_settled(target)
        wholeness = keeper.judge(target, file.data)
        if wholeness.state != "broken":
            whole.append(file)
            continue
        outcome = keeper.set_aside(file, wholeness.reason, when=when)
        versions.append(outcome.version)  # the watcher may have set these bytes aside before
    if whole:
        outcomes = keeper.keep(
            [file for file in whole if keeper.knows(file.path)], when=when, saying=saying
        ) + keeper.keep_beside(
            [file for file in whole if not keeper.knows(file.path)], when=when, saying=saying
        )
        versions += [one.version for one in outcomes if not isinstance(one, Unchanged)]
    return tuple(dict.fromkeys(versions))


def _write(target: Path, stored: StoredFile, disk: FileSystem) -> RestoredFile:
    if not target.parent.is_dir():
        raise FolderGoneError(target.parent)
    there = read_settled(target).data if identify(target) is not None else None
    if there is not None and stored.equals(there):
        stored.verify()
        return RestoredFile(target, len(there), stored.file.sha256, written=False)
    replace_by_pieces(target, stored.bundles(), stored.verify, disk=disk)
    return RestoredFile(target, stored.size, stored.file.sha256, written=True)


def _keep_beside_again(
    keeper: Keeper, restored: RestoredFile, version: Version, when: datetime
) -> Version | None:
    """Keep a file that came back outside the watched places, so that this can be undone."""
    saying = Saying(summary=f"version {version.number} restored to {restored.path.name}")
    outcomes = keeper.keep_beside([read_settled(restored.path)], when=when, saying=saying)
    return next((one.version for one in outcomes if not isinstance(one, Unchanged)), None)


def _keep_again(
    keeper: Keeper, restored: Sequence[RestoredFile], version: Version, when: datetime
) -> Version | None:
    label = f" ({version.label})" if version.label else ""
    saying = Saying(summary=f"version {version.number}{label} restored")
    files = [read_settled(one.path) for one in restored]
    outcomes = keeper.keep(files, when=when, saying=saying)
    return next((one.version for one in outcomes if not isinstance(one, Unchanged)), None)
