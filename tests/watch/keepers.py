"""A keeper without a vault: it notes what it was asked to keep, and refuses when told to."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from hashlib import sha256
from pathlib import Path

from showvault.files.disk import DiskError
from showvault.files.reading import SettledFile
from showvault.flows.outcomes import Kept, SetAside, Unchanged
from showvault.show.reading import Wholeness, judge_whole
from showvault.vault.versions import Version


@dataclass
class NotingKeeper:
    """JSON files prove that they are whole, others are unproven."""

    versions: list[tuple[Path, bytes]] = field(default_factory=list)
    aside: list[tuple[Path, bytes]] = field(default_factory=list)
    batches: list[tuple[Path, ...]] = field(default_factory=list)
    refusals: list[Exception] = field(default_factory=list)
    tidied: int = 0
    readied: int = 0
    elsewhere: Version | None = None
    """The newest version of the vault, where another process kept it."""
    broken: Exception | None = None
    """What is raised where the vault is looked at."""

    def judge(self, path: Path, data: bytes) -> Wholeness:
        return judge_whole(data) if path.suffix == ".json" else Wholeness("unproven")

    def knows(self, path: Path) -> bool:
        return any(kept == path for kept, _ in self.versions)

    def keep(self, files: Sequence[SettledFile], *, when: datetime) -> list[Kept | Unchanged]:
        self._refuse()
        self.batches.append(tuple(file.path for file in files))
        outcomes: list[Kept | Unchanged] = []
        for file in files:
            latest = dict(self.versions).get(file.path)
            if latest == file.data:
                outcomes.append(Unchanged(self._version(when), file.path))
                continue
            self.versions.append((file.path, file.data))
            digest = sha256(file.data).hexdigest()
            outcomes.append(Kept(self._version(when), file.path, digest))
        return outcomes

    def set_aside(self, file: SettledFile, reason: str, *, when: datetime) -> SetAside | Unchanged:
        self._refuse()
        if (file.path, file.data) in self.aside:
            return Unchanged(self._version(when), file.path)
        self.aside.append((file.path, file.data))
        digest = sha256(file.data).hexdigest()
        return SetAside(self._version(when), file.path, digest, reason)

    def afterwards(self) -> list[str]:
        self.tidied += 1
        return []

    def get_ready(self) -> None:
        self.readied += 1

    def newest(self) -> Version | None:
        if self.broken:
            raise self.broken
        return self.elsewhere

    def _version(self, when: datetime) -> Version:
        number = len(self.versions) + len(self.aside)
        return Version(number=number, time=when.isoformat(), summary=f"save {number}")

    def _refuse(self) -> None:
        if self.refusals:
            raise self.refusals.pop(0)


def full_disk(path: Path) -> DiskError:
    return DiskError("write", path, "no space left on device", code=28)
