"""What keeping did: a version is safe, nothing was new, or a file was set aside."""

from dataclasses import dataclass
from pathlib import Path

from showvault.vault.versions import Version


@dataclass(frozen=True)
class Kept:
    """A version is safe."""

    version: Version
    path: Path
    sha256: str
    notes: tuple[str, ...] = ()


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
