"""What a clone of the history still holds of what is gone here.

A clone is anybody's repository. Nothing in it is believed but bytes that have the name which was
asked for: the name is made of them.
"""

import contextlib
import os
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from showvault.errors import ShowvaultError
from showvault.files.disk import shown
from showvault.vault.git import Git
from showvault.vault.kinds import find_endless
from showvault.vault.packing import NUMBERS
from showvault.vault.reader import Reader, read_what_is_there
from showvault.vault.recovery import Rebuild

PLACES = ("history.git", ".git", "")
"""Where a repository lies in the folder that is named: in a vault, in a clone with files, bare."""


class NotACloneError(ShowvaultError):
    """Nothing that git could read objects from."""

    exit_code = 4

    def __init__(self, folder: Path, why: str) -> None:
        super().__init__(
            f"{shown(folder)} is no clone of a history: {why}",
            hint="name a folder that git clone --mirror made of the vault's history.git",
        )


@contextlib.contextmanager
def opened_clone(folder: Path, environ: Mapping[str, str] = os.environ) -> Iterator[Rebuild]:
    """Give what reads objects from the clone at ``folder``, by their names.

    Raises NotACloneError, GitMissingError, DiskError.
    """
    reader = Reader(Git(_repository_in(folder), environ))

    def objects(wanted: frozenset[str]) -> Iterable[tuple[str, bytes]]:
        for _, stored in read_what_is_there(reader, sorted(wanted)):
            if stored is not None and stored.kind in NUMBERS:
                yield stored.kind, stored.data

    try:
        yield objects
    finally:
        reader.close()


def _repository_in(folder: Path) -> Path:
    for name in PLACES:
        found = folder / name
        if (found / "objects").is_dir() and (found / "HEAD").is_file():
            odd = next(find_endless(found), None)
            if odd is not None:
                raise NotACloneError(folder, f"{shown(odd)} is no file")
            return found.absolute()
    raise NotACloneError(folder, "there is no git repository in it")
