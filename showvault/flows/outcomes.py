"""What keeping did: a version is safe, nothing was new, or a file was set aside."""

from dataclasses import dataclass
from pathlib import Path

from showvault.flows.incoming import name_of
from showvault.vault.versions import Version


@dataclass(frozen=True)
class Kept:
    """A version is safe."""

    version: Version
    path: Path
    sha256: str
    notes: tuple[str, ...] = ()

    @property
    def is_the_show(self) -> bool:
        """Whether the file is the show that is new in the version, and not one beside it."""
        show = self.version.show_file
        return show is not None and self.version.renews_show and show.path == name_of(self.path)

    @property
    def summary(self) -> str:
        """What changed; what a new show changed is not told of a file that was kept beside it."""
        beside = self.version.renews_show and not self.is_the_show
        return f"{self.path.name} saved" if beside else self.version.summary


@dataclass(frozen=True)
class Unchanged:
    """These bytes are kept already."""

    version: Version
    path: Path


@dataclass(frozen=True)
class SetAside:
    """The bytes of a file that is not whole are safe, out of the good versions' way."""

    version: Version
    path: Path
    sha256: str
    reason: str


@dataclass(frozen=True)
class AlreadySo:
    """The show is as it was asked for already: nothing had to be written."""

    path: Path


@dataclass(frozen=True)
class Saying:
    """What a person says of a version that is taken by hand."""

    note: str = ""
    summary: str = ""
    """In place of the description of what changed, if given."""
