"""From one format to another through the neutral show, with everything that is lost on the way."""

from collections.abc import Mapping
from dataclasses import dataclass

from showvault.interchange.laying import Laid, lay_rig_into
from showvault.interchange.reader import (
    CannotReadError,
    Loss,
    OptionError,
    Options,
    Reader,
    ReadResult,
    Writer,
)
from showvault.interchange.registry import Registry
from showvault.show.reading import decode_show
from showvault.show.trees import Tree
from showvault.show.writing import write_show


@dataclass(frozen=True)
class Converted:
    """A file in another format."""

    data: bytes
    read_losses: tuple[Loss, ...]
    """What the neutral show does not carry of the file that was read."""
    write_losses: tuple[Loss, ...]
    """What the new format cannot hold."""
    notes: tuple[str, ...]
    reader: str
    """Name and version of what read it, such as "ascii/1"."""
    writer: str
    laid: Laid | None = None
    """What was laid into which show, where there was one."""

    @property
    def losses(self) -> tuple[Loss, ...]:
        """Everything that was lost, in the order in which it was."""
        return self.read_losses + self.write_losses


def convert(
    data: bytes, name_in: str, name_out: str, options: Options, registry: Registry
) -> Converted:
    """Convert a file; the names say which format each has.

    Raises CannotReadError, NoWriterError, OptionError, NotWholeError or NotUnderstoodError.
    """
    reader, writer = _chosen(data, name_in, name_out, options, registry)
    result = _read(reader, data, name_in, options)
    return _written(reader, writer, result, result.show, options)


def convert_into(
    show: Tree, data: bytes, name_in: str, name_out: str, options: Options, registry: Registry
) -> Converted:
    """Lay the rig of a file into a show, and write that; raises what ``convert`` does."""
    reader, writer = _chosen(data, name_in, name_out, options, registry)
    result = _read(reader, data, name_in, options)
    laid = lay_rig_into(show, result.show)
    return _written(reader, writer, result, laid.show, options, laid)


def _chosen(
    data: bytes, name_in: str, name_out: str, options: Options, registry: Registry
) -> tuple[Reader, Writer]:
    writer = registry.choose_writer(name_out)
    reader = registry.choose_reader(name_in, data)
    known = {**reader.options, **writer.options}
    for name in options:
        if name not in known:
            names = ", ".join(sorted(known)) or "none"
            raise OptionError(
                f"no option {name!r} is known from {reader.name} to {writer.name}",
                hint=f"the options are: {names}",
            )
    return reader, writer


def _read(reader: Reader, data: bytes, name: str, options: Options) -> ReadResult:
    """Read, and hold what was read against the rules of the neutral show."""
    wholeness = reader.judge(data)
    if wholeness.state == "broken":
        raise CannotReadError(
            f"{name} is not whole: {wholeness.reason}", hint="export it again, and convert that"
        )
    result = reader.read(data, _known_to(reader.options, options))
    if result.show is None:
        raise CannotReadError(
            f"{name} is private to its desk: nothing here can read it",
            hint="export the show from the desk in an open format, and convert that",
        )
    decode_show(write_show(result.show), f"what {reader.name} made of {name}")
    return result


def _written(
    reader: Reader,
    writer: Writer,
    result: ReadResult,
    show: Tree,
    options: Options,
    laid: Laid | None = None,
) -> Converted:
    written = writer.write(show, _known_to(writer.options, options))
    return Converted(
        data=written.data,
        read_losses=result.losses,
        write_losses=written.losses,
        notes=result.notes,
        reader=f"{reader.name}/{reader.version}",
        writer=f"{writer.name}/{writer.version}",
        laid=laid,
    )


def _known_to(known: Mapping[str, str], options: Options) -> Options:
    return {name: value for name, value in options.items() if name in known}
