"""Which reader takes a file, and which writer makes one.

The neutral show comes first and cannot be taken over; then the readers of other packages (entry
points of the group ``showvault.readers``), then the built-in ones; the opaque reader takes the
rest. A reader of another package that cannot be used is told once, and the others go on.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from importlib.metadata import EntryPoint, entry_points

from showvault.errors import ShowvaultError
from showvault.interchange.ascii_cues import AsciiReader
from showvault.interchange.guests import GuestReader, GuestWriter, Tell, say_failure
from showvault.interchange.neutral import NeutralReader
from showvault.interchange.opaque import OpaqueJsonReader, OpaqueReader, OpaqueZipReader
from showvault.interchange.reader import Reader, Writer
from showvault.interchange.rig import FixtureTypeReader, RigReader
from showvault.interchange.tables import CsvReader, TsvReader, XlsxReader

ENTRY_POINTS = "showvault.readers"


class NoWriterError(ShowvaultError):
    """No writer makes files of this name."""

    exit_code = 2


@dataclass(frozen=True)
class Registry:
    """The readers and writers at hand, in the order in which they are asked."""

    readers: tuple[Reader, ...]
    writers: tuple[Writer, ...]

    def choose_reader(self, name: str, head: bytes) -> Reader:
        """Return the reader of a file by its name and first bytes; there always is one.

        Give all the bytes where they are at hand: a show may carry its mark at its end.
        """
        for reader in self.readers:
            if reader.sniff(name, head):
                return reader
        return OpaqueReader()

    def choose_writer(self, name: str) -> Writer:
        """Return the writer of a file by its name. Raises NoWriterError."""
        lowered = name.lower()
        fitting = [
            (len(ending), writer)
            for writer in self.writers
            for ending in writer.extensions
            if lowered.endswith(ending)
        ]
        if fitting:
            return max(fitting, key=lambda found: found[0])[1]
        endings = sorted({ending for writer in self.writers for ending in writer.extensions})
        raise NoWriterError(
            f"nothing here writes a file named {name!r}",
            hint=f"give the new file one of these endings: {', '.join(endings)}",
        )

    def reader_named(self, name: str) -> Reader | None:
        """Return the reader that a version names, if it is still there."""
        return next((reader for reader in self.readers if reader.name == name), None)


@cache
def installed_registry(tell: Tell) -> Registry:
    """Return the registry of this installation; ``tell`` hears of each reader that fails, once."""
    return build_registry(entry_points(group=ENTRY_POINTS), tell)


def choose_reader(name: str, head: bytes) -> Reader:
    """Return the reader of a file by its name and its first bytes (or all); there always is one.

    What fails on the way is passed over unheard; whoever wants to tell it asks installed_registry.
    """
    return installed_registry(_hear_nothing).choose_reader(name, head)


def build_registry(found: Iterable[EntryPoint], tell: Tell) -> Registry:
    """Return a registry of the built-in readers and those behind these entry points."""
    built_in = _built_in_readers()
    taken = {"neutral", "opaque", *(reader.name for reader in built_in)}
    guests: list[GuestReader] = []
    for reader in _load(found, tell):
        if reader.name in taken:
            tell(f"the added reader {reader.name!r} is left out: another one has its name")
            continue
        taken.add(reader.name)
        guests.append(reader)
    readers: tuple[Reader, ...] = (NeutralReader(), *guests, *built_in, OpaqueReader())
    return Registry(readers, tuple(r for r in readers if isinstance(r, Writer)))


def _built_in_readers() -> tuple[Reader, ...]:
    return (
        AsciiReader(),
        RigReader(),
        FixtureTypeReader(),
        CsvReader(),
        TsvReader(),
        XlsxReader(),
        OpaqueJsonReader(),
        OpaqueZipReader(),
    )


def _load(found: Iterable[EntryPoint], tell: Tell) -> Iterator[GuestReader]:
    for entry in sorted(found, key=lambda entry: (entry.name, entry.value)):
        try:
            loaded = entry.load()
            reader = loaded() if isinstance(loaded, type) else loaded
            if not isinstance(reader, Reader):
                raise TypeError("it lacks parts of what a reader must have")
            guest = GuestWriter if isinstance(reader, Writer) else GuestReader
            guarded = guest(reader, tell)
        except Exception as error:
            tell(f"the reader {entry.name!r} cannot be loaded: {say_failure(error)}")
            continue
        yield guarded


def _hear_nothing(sentence: str) -> None:
    """Pass over a reader that fails: keeping goes on with the next one."""
