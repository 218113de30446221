"""A reader of another package behind a guard: whatever it does, keeping goes on.

Its failed sniff is a no, its failed judgement proves nothing, its failed reading is a
ShowvaultError; each reader that fails is told of once.
"""

from collections.abc import Callable, Mapping
from typing import TypeAlias

from showvault.errors import ShowvaultError
from showvault.interchange.reader import Options, Reader, ReadResult, Role, Writer, WriteResult
from showvault.show.reading import Wholeness
from showvault.show.trees import Tree

Tell: TypeAlias = Callable[[str], None]
"""Takes one sentence for the person at the desk."""


class ReaderFailedError(ShowvaultError):
    """A reader of another package failed in a way that it does not explain."""


class GuestReader:
    """A reader of another package, behind a guard."""

    def __init__(self, reader: Reader, tell: Tell) -> None:
        self._reader = reader
        self._tell = tell
        self._told = False
        self.name = str(reader.name)
        self.version = str(reader.version)
        self.role: Role = "source"  # what a guest reads is never the show file itself
        self.extensions = tuple(map(str, reader.extensions))
        self.options: Mapping[str, str] = dict(reader.options)

    def sniff(self, name: str, head: bytes) -> bool:
        """Ask the reader; what fails takes no file."""
        try:
            return bool(self._reader.sniff(name, head))
        except Exception as error:
            self._tell_once(
                f"the reader {self.name!r} fails and is passed over: {say_failure(error)}"
            )
            return False

    def judge(self, data: bytes) -> Wholeness:
        """Ask the reader; what fails proves nothing."""
        try:
            judged = self._reader.judge(data)
        except Exception as error:
            self._tell_once(f"the reader {self.name!r} cannot judge files: {say_failure(error)}")
            return Wholeness("unproven")
        return judged if isinstance(judged, Wholeness) else Wholeness("unproven")

    def read(self, data: bytes, options: Options) -> ReadResult:
        """Let the reader read. Raises ShowvaultError for every failure."""
        try:
            result = self._reader.read(data, options)
        except ShowvaultError:
            raise
        except Exception as error:
            raise _failed(self.name, error) from error
        if not isinstance(result, ReadResult):
            raise _failed(self.name, TypeError("it returned no ReadResult"))
        return result

    def _tell_once(self, sentence: str) -> None:
        if not self._told:
            self._told = True
            self._tell(sentence)


class GuestWriter(GuestReader):
    """A reader of another package that writes as well."""

    def write(self, show: Tree, options: Options) -> WriteResult:
        """Let the writer write. Raises ShowvaultError for every failure."""
        writer = self._reader
        if not isinstance(writer, Writer):
            raise _failed(self.name, TypeError("it no longer writes"))
        try:
            result = writer.write(show, options)
        except ShowvaultError:
            raise
        except Exception as error:
            raise _failed(self.name, error) from error
        if not isinstance(result, WriteResult):
            raise _failed(self.name, TypeError("it returned no WriteResult"))
        return result


def _failed(name: str, error: Exception) -> ReaderFailedError:
    return ReaderFailedError(
        f"the reader {name!r} failed: {say_failure(error)}",
        hint="the file itself is kept all the same; tell whoever made that reader",
    )


def say_failure(error: Exception) -> str:
    """Say an exception in one printable line of about 200 characters."""
    words = " ".join(str(error).split())[:200]
    text = "".join(char if char.isprintable() else "?" for char in words)
    return f"{type(error).__name__}: {text}" if text else type(error).__name__
