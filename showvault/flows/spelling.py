"""A show written in the format that a file's name says, with all that the format cannot hold."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

from showvault.files.reading import identify, read_settled
from showvault.interchange.as_set import writing_as_set
from showvault.interchange.neutral import NeutralReader
from showvault.interchange.reader import Loss, Options
from showvault.interchange.registry import NoWriterError, Registry
from showvault.show.reading import parse_tree


@dataclass(frozen=True)
class Spelled:
    """The bytes of a file, and what they do not hold of the show."""

    data: bytes
    losses: tuple[Loss, ...] = ()


Spell: TypeAlias = Callable[[bytes], Spelled]
"""Takes a neutral show, as bytes."""


def spelling_of(path: Path, registry: Registry, settings: Mapping[str, Options]) -> Spell:
    """Return what writes a show as a file of this name; a neutral show keeps its very bytes.

    ``settings`` are the options of each reader by name. A neutral show may have a name that no
    format has, where one stands there already. Raises NoWriterError.
    """
    try:
        writer = registry.choose_writer(path.name)
    except NoWriterError:
        if _is_neutral(path):
            return Spelled
        raise
    if writer.name == NeutralReader.name:
        return Spelled
    write = writing_as_set(writer, settings.get(writer.name, {}))

    def spell(show: bytes) -> Spelled:
        written = write(parse_tree(show))
        return Spelled(written.data, written.losses)

    return spell


def _is_neutral(path: Path) -> bool:
    return identify(path) is not None and NeutralReader().sniff(path.name, read_settled(path).data)
