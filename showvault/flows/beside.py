"""How the files beside the show differ between two versions: by size, hash and time alone."""

from dataclasses import dataclass
from datetime import datetime

from showvault.vault.times import moment_of_file
from showvault.vault.versions import Version, VersionFile


@dataclass(frozen=True)
class FileChange:
    """A file that nobody here can describe, before and after; None where it was not there."""

    name: str
    before: VersionFile | None
    after: VersionFile | None


def compare_files_beside(old: Version, new: Version) -> list[FileChange]:
    """Return the files beside the show whose bytes differ, came or went, in the order of names."""
    before, after = _beside(old), _beside(new)
    return [
        FileChange(name, before.get(name), after.get(name))
        for name in sorted(before.keys() | after.keys())
        if _bytes(before.get(name)) != _bytes(after.get(name))
    ]


def saved_at(file: VersionFile) -> datetime | None:
    """Return when a file was written, by its own time, in UTC; None where that is not known."""
    return moment_of_file(file.saved_ns) if file.saved_ns else None


def _beside(version: Version) -> dict[str, VersionFile]:
    return {file.name: file for file in version.files if file.role == "opaque"}


def _bytes(file: VersionFile | None) -> str:
    return file.sha256 if file is not None else ""
