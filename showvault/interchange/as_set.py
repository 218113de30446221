"""Readers that read as somebody set them for one vault: "ascii.cues=moves".

What a reader was told to do is part of its version: a show that was read otherwise was made by
another reader, as far as anybody is concerned who compares the two.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TypeAlias

from showvault.errors import ShowvaultError
from showvault.interchange.reader import (
    OptionError,
    Options,
    Reader,
    ReadResult,
    Role,
    Writer,
    WriteResult,
)
from showvault.interchange.registry import Registry
from showvault.show.reading import Wholeness
from showvault.show.trees import Tree

ReaderOptions: TypeAlias = Mapping[str, Options]
"""Options by the name of their reader."""

ChooseReader: TypeAlias = Callable[[str, bytes], Reader]


class ReaderAsSet:
    """A reader with options that it always gets; its version says which."""

    def __init__(self, reader: Reader, chosen: Options) -> None:
        self.reader = reader
        self.chosen = dict(chosen)
        self.name = reader.name
        self.version = f"{reader.version} {say_options(chosen)}"
        self.role: Role = reader.role
        self.extensions = reader.extensions
        self.options: Mapping[str, str] = reader.options

    def sniff(self, name: str, head: bytes) -> bool:
        """Ask the reader."""
        return self.reader.sniff(name, head)

    def judge(self, data: bytes) -> Wholeness:
        """Ask the reader."""
        return self.reader.judge(data)

    def read(self, data: bytes, options: Options) -> ReadResult:
        """Read as it was set, and say so; ``options`` that are given here count before that."""
        result = self.reader.read(data, {**self.chosen, **options})
        said = f"read with {say_options(self.chosen)}, as the settings of this vault say"
        return replace(result, notes=(*result.notes, said))


def choose_as_set(choose: ChooseReader, options: Callable[[], ReaderOptions]) -> ChooseReader:
    """Return what chooses the same readers, each reading as ``options`` say at that moment."""

    def choose_with_options(name: str, head: bytes) -> Reader:
        reader = choose(name, head)
        chosen = options().get(reader.name)
        return ReaderAsSet(reader, chosen) if chosen and reader.role == "source" else reader

    return choose_with_options


def writing_of(reader: Reader) -> Callable[[Tree], WriteResult] | None:
    """Return what writes files that this reader reads as they are meant; None if nothing does."""
    inner: Reader = reader
    chosen: Options = {}
    if isinstance(reader, ReaderAsSet):
        inner, chosen = reader.reader, reader.chosen
    return writing_as_set(inner, chosen) if isinstance(inner, Writer) else None


def writing_as_set(writer: Writer, chosen: Options) -> Callable[[Tree], WriteResult]:
    """Return what writes with those options that this writer listens to."""
    options = {name: value for name, value in chosen.items() if name in writer.options}
    return lambda show: writer.write(show, options)


def with_option(options: ReaderOptions, text: str, registry: Registry) -> dict[str, dict[str, str]]:
    """Return options with one more: "ascii.cues=moves"; "ascii.cues=" takes it back.

    Raises OptionError where no reader listens to it.
    """
    place, equals, value = (part.strip() for part in text.partition("="))
    name, dot, option = place.partition(".")
    if not (equals and dot and option):
        raise OptionError(
            f"{text!r} is not READER.OPTION=VALUE", hint="write it such as ascii.cues=moves"
        )
    reader = next((r for r in registry.readers if r.name == name and r.role == "source"), None)
    if reader is None or option not in reader.options:
        raise OptionError(f"no reader listens to {place!r}", hint=_say_known(registry))
    after = {reader_name: dict(chosen) for reader_name, chosen in options.items()}
    if value:
        _refuse_value(reader, {option: value})
        after.setdefault(name, {})[option] = value
    else:
        after.get(name, {}).pop(option, None)
    return {reader_name: chosen for reader_name, chosen in after.items() if chosen}


def say_options(options: Options) -> str:
    """Return options in one order: "cues=moves levels=hex"."""
    return " ".join(f"{name}={options[name]}" for name in sorted(options))


def _refuse_value(reader: Reader, options: Options) -> None:
    """Raise OptionError for a value that the reader refuses; it is asked with an empty file."""
    try:
        reader.read(b"", options)
    except OptionError:
        raise
    except ShowvaultError:
        return  # an empty file is none of its format, which says nothing of the option


def _say_known(registry: Registry) -> str:
    known = [
        f"{reader.name}.{option}"
        for reader in registry.readers
        if reader.role == "source"
        for option in reader.options
    ]
    return f"they listen to: {', '.join(known)}"
