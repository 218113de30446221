"""A version taken by hand: everything that lies in some places, at one moment."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from showvault.errors import ShowvaultError
from showvault.files.reading import SettledFile, read_settled
from showvault.flows.candidates import find_saves
from showvault.flows.keep import Keeper
from showvault.flows.outcomes import Kept, Saying, SetAside, Unchanged
from showvault.vault.versions import Version


class NothingToKeepError(ShowvaultError):
    """There is no save in the places that were named."""

    exit_code = 4

    def __init__(self, roots: Sequence[Path]) -> None:
        super().__init__(
            f"no save was found in {', '.join(map(str, roots))}",
            hint="save or export the show there first",
        )


@dataclass(frozen=True)
class Taken:
    """What a snapshot by hand did."""

    kept: tuple[Kept, ...]
    unchanged: tuple[Unchanged, ...]
    set_aside: tuple[SetAside, ...]
    failed: tuple[tuple[Path, ShowvaultError], ...]
    """Files that could not be read, and why; the others were kept all the same."""
    unreadable: tuple[Path, ...] = ()
    """Folders that this user may not look into."""

    @property
    def newest(self) -> Version | None:
        """The version that a person would go on from."""
        good = [one.version for one in self.unchanged] + [one.version for one in self.kept]
        return max(good, key=lambda version: version.number) if good else None


def require_saves(root: Path) -> None:
    """Raise NothingToKeepError where a place holds no save, before a vault is made for it."""
    if root.exists() and next(find_saves([root], without=root), None) is None:
        raise NothingToKeepError([root])


def snapshot(keeper: Keeper, roots: Sequence[Path], *, when: datetime, saying: Saying) -> Taken:
    """Keep every save in some places; a file that is not whole is set aside.

    A file that cannot be read does not keep the others from being kept. Raises NothingToKeepError,
    or ShowvaultError where the vault or its disk refuses.
    """
    failed: list[tuple[Path, ShowvaultError]] = []
    whole: list[SettledFile] = []
    aside: list[SetAside] = []
    unreadable: list[Path] = []
    folder = keeper.vault.folder
    for path in find_saves(roots, without=folder, unreadable=unreadable.append):
        try:
            file = read_settled(path)
        except ShowvaultError as error:
            failed.append((path, error))
            continue
        wholeness = keeper.judge(path, file.data)
        if wholeness.state != "broken":
            whole.append(file)
            continue
        outcome = keeper.set_aside(file, wholeness.reason, when=when)
        digest = hashlib.sha256(file.data).hexdigest()
        aside.append(SetAside(outcome.version, path, digest, wholeness.reason))
    outcomes = keeper.keep(whole, when=when, saying=saying)
    if not outcomes and not aside and not failed:
        raise NothingToKeepError(roots)
    kept = tuple(one for one in outcomes if isinstance(one, Kept))
    same = tuple(one for one in outcomes if isinstance(one, Unchanged))
    return Taken(kept, same, tuple(aside), tuple(failed), tuple(unreadable))
