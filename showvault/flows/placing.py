"""A show written to a file of its own, where something may stand already: that is kept first."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from showvault.errors import ShowvaultError
from showvault.files.durable import replace_durably
from showvault.files.reading import identify, read_settled
from showvault.flows.keep import Keeper
from showvault.flows.outcomes import Saying, Unchanged
from showvault.flows.restore import keep_what_stands
from showvault.vault.versions import Version


class StandsThereError(ShowvaultError):
    """A file would be overwritten that no vault holds."""

    exit_code = 2

    def __init__(self, path: Path) -> None:
        super().__init__(
            f"{path} is there already and no vault keeps it; nothing was written",
            hint="name another file, or say --vault DIR to have what stands there kept first",
        )


@dataclass(frozen=True)
class Placed:
    """Where a show was written, and the versions before and after."""

    path: Path
    replaced: tuple[Version, ...] = ()
    """The versions that were taken of what stood there; none where it was kept already."""
    version: Version | None = None
    """The version of what was written, where the file is one of a vault's."""


def place_anew(path: Path, data: bytes) -> Placed:
    """Write a file where none is. Raises StandsThereError."""
    if identify(path) is not None:
        raise StandsThereError(path)
    replace_durably(path, data)
    return Placed(path)


def place_over(keeper: Keeper, path: Path, data: bytes, summary: str, *, when: datetime) -> Placed:
    """Keep what stands at a place, write over it, and keep the result beside it."""
    known = keeper.knows(path)
    replaced = keep_what_stands(keeper, [path], when, Saying(note=f"kept before: {summary}"))
    replace_durably(path, data)
    keep = keeper.keep if known else keeper.keep_beside
    outcomes = keep([read_settled(path)], when=when, saying=Saying(summary=summary))
    kept = (one.version for one in outcomes if not isinstance(one, Unchanged))
    return Placed(path, replaced, next(kept, None))
