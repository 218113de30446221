"""A show file of another format than the neutral show, changed and written in its format again.

It is written only where nothing is lost by it: what its reader did not carry would be gone, and
what its writer cannot hold would not come back. Then the whole version can still be restored.
"""

from collections.abc import Callable
from dataclasses import dataclass

from showvault.errors import ShowvaultError
from showvault.files.reading import SettledFile
from showvault.interchange.as_set import writing_of
from showvault.interchange.reader import Loss, Reader
from showvault.show.reading import NotWholeError, parse_tree
from showvault.show.writing import write_show

_WHOLE = "restore the whole version, or convert the export to a neutral show (.json) and edit that"


class CannotRespellError(ShowvaultError):
    """A file of another format cannot be changed without losing something of it."""

    def __init__(self, name: str, why: str) -> None:
        super().__init__(f"{name} is left alone: {why}", hint=_WHOLE)


@dataclass(frozen=True)
class Respelling:
    """A file of another format as it stands, and how a show is written in it."""

    file: SettledFile
    show: bytes
    """Its neutral show."""
    spell: Callable[[bytes], bytes]
    """Takes a neutral show. Raises CannotRespellError for one that the format cannot hold."""
    note: str
    """What a person has to know of the file that is written."""


def read_to_respell(file: SettledFile, reader: Reader) -> Respelling:
    """Read a file that is to be changed.

    Raises NotWholeError, CannotRespellError, or what the reader raises.
    """
    name = file.path.name
    wholeness = reader.judge(file.data)
    if wholeness.state == "broken":
        raise NotWholeError(wholeness.reason, name)
    write = writing_of(reader)
    if write is None:
        raise CannotRespellError(name, f"nothing here writes {reader.name} files")
    result = reader.read(file.data, {})
    if result.show is None:
        raise CannotRespellError(name, "it holds no show")
    _refuse(name, "it holds what would be gone", result.losses)

    def spell(show: bytes) -> bytes:
        written = write(parse_tree(show))
        _refuse(name, "its format cannot hold the change", written.losses)
        again = reader.read(written.data, {})
        if again.show is None or write_show(again.show) != write_show(parse_tree(show)):
            raise CannotRespellError(name, "the change would come back as something else")
        return written.data

    note = f"written anew by {reader.name}/{reader.version}: its comments and layout are not kept"
    return Respelling(file, write_show(result.show), spell, note)


def _refuse(name: str, why: str, losses: tuple[Loss, ...]) -> None:
    if losses:
        raise CannotRespellError(name, f"{why}: {'; '.join(map(str, losses[:3]))}")
