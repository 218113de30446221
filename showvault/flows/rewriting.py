"""The show file that is being worked on, read at one moment and replaced safely.

What is replaced is a version first and the result is a version, so that ``restore previous`` goes
back. A file that changed in between is left alone.
"""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from showvault.errors import ShowvaultError
from showvault.files.durable import replace_durably
from showvault.files.reading import SettledFile, identify, read_settled
from showvault.flows.incoming import path_of
from showvault.flows.keep import Keeper
from showvault.flows.outcomes import Saying, Unchanged
from showvault.flows.respelling import Respelling, read_to_respell
from showvault.show.cutting import CutShow
from showvault.show.parts import cut_file
from showvault.vault.versions import Version


class NoCurrentShowError(ShowvaultError):
    """The vault has no show file that could be edited."""

    exit_code = 4

    def __init__(self, why: str) -> None:
        super().__init__(f"there is no current show to change: {why}", hint="save the show first")


class ChangedMeanwhileError(ShowvaultError):
    """Somebody saved while the change was being worked out."""

    exit_code = 5

    def __init__(self, path: Path) -> None:
        super().__init__(
            f"{path} changed while this was being worked out; nothing was written",
            hint="run the command again, on the show as it is now",
        )


@dataclass(frozen=True)
class CurrentShow:
    """The show as it stands."""

    file: SettledFile
    """Its bytes are those of the neutral show, whatever format the file has."""
    cut: CutShow
    respelling: Respelling | None = None
    """The file itself, where its format is another one."""


@dataclass(frozen=True)
class Rewritten:
    """What was written, and where what stood there is kept."""

    path: Path
    replaced: Version | None
    """The version that was taken of what stood there; None where it was kept already."""
    version: Version | None


def read_current(keeper: Keeper) -> CurrentShow:
    """Read the show that the newest version is of.

    Raises NoCurrentShowError, and NotWholeError or NotUnderstoodError where another kind of file
    stands there now.
    """
    keeper.known.look_again()
    newest = keeper.known.newest_show
    show = newest.show_file if newest is not None else None
    if show is None:
        raise NoCurrentShowError("nothing has been kept yet")
    file = read_settled(path_of(show.path))
    respelling = None
    if show.role == "source":
        reader = keeper.choose_reader(file.path.name, file.data)
        respelling = read_to_respell(file, reader)
        file = file._replace(data=respelling.show)
    return CurrentShow(file, cut_file(file.data, show.name), respelling)


def replace_current(
    keeper: Keeper, current: CurrentShow, data: bytes, summary: str, *, when: datetime
) -> Rewritten:
    """Keep what stands there, write, and keep the result.

    Raises ChangedMeanwhileError, or CannotRespellError before anything is done.
    """
    path, stands, note = current.file.path, current.file, ""
    if current.respelling is not None:
        stands, note = current.respelling.file, current.respelling.note
        data = current.respelling.spell(data)
    before = keeper.keep([stands], when=when, saying=Saying(note=f"kept before: {summary}"))
    if identify(path) != current.file.identity:
        raise ChangedMeanwhileError(path)
    replace_durably(path, data)
    after = keeper.keep([read_settled(path)], when=when, saying=Saying(summary=summary, note=note))
    replaced = next((one.version for one in before if not isinstance(one, Unchanged)), None)
    version = next((one.version for one in after if not isinstance(one, Unchanged)), None)
    return Rewritten(path, replaced, version)
