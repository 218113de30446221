"""What a reader and a writer of one format promise, and what they give back.

- A reader says what it could not carry, a writer what its format cannot hold: nothing is lost in
  silence.
- Bytes in, values out: a reader opens no file, keeps no state and looks at no clock.
- Levels and times are exact: ``int`` or ``Decimal``, as in showvault.show.trees.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, Protocol, TypeAlias, TypeVar, runtime_checkable

from showvault.errors import ShowvaultError
from showvault.show.reading import Wholeness
from showvault.show.trees import Tree

Options: TypeAlias = Mapping[str, str]
"""What a person chose, by name; each reader and writer lists the names it knows."""

_Choice = TypeVar("_Choice", bound=str)

Role = Literal["show", "source", "opaque"]
"""What a file is to the vault: the neutral show, something to make one of, or neither."""


@dataclass(frozen=True)
class Loss:
    """Something that did not come across, in trade words, and how many of it."""

    what: str
    where: str = ""
    """The first place, such as "line 12" or "list 1 cue 5"."""
    count: int = 1

    def __str__(self) -> str:
        """Say it in a line: how many of what, and where the first was."""
        where = f" (first: {self.where})" if self.where else ""
        return f"{self.count:,} × {self.what}{where}"


@dataclass(frozen=True)
class ReadResult:
    """What a reader made of a file."""

    show: Tree | None
    """A neutral show as plain values; None where the file stays opaque."""
    losses: tuple[Loss, ...] = ()
    """What the neutral show does not carry."""
    notes: tuple[str, ...] = ()
    """How the file was read, and what is odd about it: one sentence each."""


@dataclass(frozen=True)
class WriteResult:
    """A show in another format."""

    data: bytes
    losses: tuple[Loss, ...] = ()
    """What the format cannot hold."""


@runtime_checkable
class Reader(Protocol):
    """Reads one format. Found by the entry point group ``showvault.readers``."""

    name: str
    """One word, such as "ascii"; kept with every version that this reader made."""
    version: str
    """Changes whenever the same bytes would give another show."""
    role: Role
    extensions: tuple[str, ...]
    """File name endings in lower case with their dot, the usual one first."""
    options: Mapping[str, str]
    """The options that reading and writing know, each with a sentence on what it does."""

    def sniff(self, name: str, head: bytes) -> bool:
        """Tell whether a file of this name that begins with these bytes is one of this format.

        ``head`` holds the first 4,096 bytes or more, all of them where the file is at hand.
        """

    def judge(self, data: bytes) -> Wholeness:
        """Tell whether the file is complete, as far as the format can prove it."""

    def read(self, data: bytes, options: Options) -> ReadResult:
        """Make a neutral show of a file. Raises ShowvaultError where the file cannot be used."""


@runtime_checkable
class Writer(Protocol):
    """Writes one format; the same show gives the same bytes."""

    name: str
    version: str
    extensions: tuple[str, ...]
    options: Mapping[str, str]

    def write(self, show: Tree, options: Options) -> WriteResult:
        """Write an understood neutral show. Raises ShowvaultError where nothing can be written."""


class CannotReadError(ShowvaultError):
    """A file is of a known format and cannot be used all the same."""


class OptionError(ShowvaultError):
    """An option that the reader or writer does not know, or a value it cannot use."""

    exit_code = 2


def choose(options: Options, name: str, choices: tuple[_Choice, ...]) -> _Choice:
    """Return the value of an option, the first choice where nothing was chosen.

    Raises OptionError for any other value.
    """
    value = options.get(name, choices[0])
    if value not in choices:
        raise OptionError(f"{name} cannot be {value!r}", hint=f"choose one of {', '.join(choices)}")
    return value


def refuse_unknown(options: Options, known: Mapping[str, str], who: str) -> None:
    """Raise OptionError for an option that nobody listens to."""
    for name in options:
        if name not in known:
            names = ", ".join(sorted(known)) or "none"
            raise OptionError(f"{who} knows no option {name!r}", hint=f"it knows: {names}")
