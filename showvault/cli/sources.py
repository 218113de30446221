"""What a person may name on the command line: a show file, or a version of a vault."""

from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from showvault.cli.options import now, open_found_vault, reader_choice, warn
from showvault.errors import ShowvaultError
from showvault.flows.beside import FileChange
from showvault.flows.protection import DeskFileAhead
from showvault.show.parts import ShowFile, ShowParts
from showvault.vault.opening import Vault
from showvault.vault.versions import Version

if TYPE_CHECKING:
    from showvault.flows.rereading import ReadingAgain
    from showvault.interchange.as_set import ChooseReader


@dataclass(frozen=True)
class Source:
    """Something with a show in it."""

    name: str
    path: Path | None = None
    version: Version | None = None

    def record(self) -> dict[str, Any]:
        """Return what programs are told of it."""
        if self.version is not None:
            return {"version": self.version.number, "time": self.version.time, "path": None}
        return {"version": None, "time": None, "path": str(self.path)}


def looks_like_a_file(text: str) -> bool:
    """Tell a path from a version: it exists, or it is written as a path."""
    return Path(text).exists() or "/" in text or "\\" in text or text.endswith(".json")


def read_file_as_show(path: Path, choose: "ChooseReader | None" = None) -> bytes:
    """Return a file's neutral show as bytes, whatever format it is in.

    How a source was read, and that something of it was not carried, is told beside the answer.
    """
    from showvault.files.reading import read_settled
    from showvault.interchange.registry import installed_registry
    from showvault.show.writing import write_show

    if path.is_dir():
        raise ShowvaultError(f"{path} is a folder", hint="name a show file in it")
    data = read_settled(path.resolve()).data
    reader = (choose or installed_registry(warn).choose_reader)(path.name, data)
    if reader.role != "source":
        return data
    result = reader.read(data, {})
    for note in result.notes:
        warn(f"{path.name}: {note}")
    if result.losses:
        count = sum(loss.count for loss in result.losses)
        warn(f"{path.name}: not carried: {count:,}, first {result.losses[0]}; convert tells all")
    return data if result.show is None else write_show(result.show)


def read_show(text: str, vault_folder: Path | None) -> bytes:
    """Return the neutral show that ``text`` names: of a file, or of a version."""
    from showvault.vault.asking import resolve

    if looks_like_a_file(text):
        return read_file_as_show(Path(text))
    with open_found_vault(vault_folder) as vault:
        return reading_again(vault).show(resolve(vault.store, text, now=now()))


def reading_again(vault: Vault) -> "ReadingAgain":
    """Return what reads the versions of a vault as the readers of today do."""
    from showvault.flows.rereading import ReadingAgain

    return ReadingAgain(vault.store, reader_choice(vault), warn)


class Sources:
    """Opens the vault once for however many versions are named, and not at all for files."""

    def __init__(self, vault_folder: Path | None) -> None:
        self._folder = vault_folder
        self._vault: Vault | None = None
        self._stack = ExitStack()
        self._last_file: ShowFile | None = None

    def __enter__(self) -> "Sources":
        return self

    def __exit__(self, *_: object) -> None:
        self._stack.close()

    @property
    def vault(self) -> Vault:
        """The vault, opened when it is first needed."""
        if self._vault is None:
            self._vault = self._stack.enter_context(open_found_vault(self._folder))
        return self._vault

    @property
    def opened(self) -> bool:
        """Whether a version was named, so that it is known which vault is meant."""
        return self._vault is not None

    def find(self, text: str) -> Source:
        """Find what a text names; raises ShowvaultError where it names nothing."""
        from showvault.vault.asking import resolve

        if looks_like_a_file(text):
            return Source(Path(text).name, path=Path(text))
        version = resolve(self.vault.store, text, now=now())
        return Source(f"version {version.number}", version=version)

    def not_described(self, *found: Source) -> list[DeskFileAhead]:
        """Return for each version whose desk file is ahead of its show what is not described."""
        from showvault.flows.protection import find_lag

        lags = dict.fromkeys(find_lag(source.version) for source in found)
        return [lag for lag in lags if lag is not None]

    def files_beside(self, one: Source, other: Source) -> list[FileChange]:
        """Return how the files beside the show differ, where both are versions."""
        from showvault.flows.beside import compare_files_beside

        if one.version is None or other.version is None:
            return []
        return compare_files_beside(one.version, other.version)

    def left_out(self) -> tuple[str, ...]:
        """Return what the vault leaves out of comparisons."""
        return tuple(self.vault.description.settings.ignore)

    def steps(self, start: Version, end: Version) -> Iterator[tuple[Version, Version]]:
        """Yield the versions after ``start`` up to ``end``, each with the good one before it."""
        from showvault.vault.versions import list_versions

        before = start
        for version in reversed(list_versions(self.vault.store)):
            if version.good and start.number < version.number <= end.number:
                yield before, version
                before = version

    def parts(self, source: Source, *, beside_a_version: bool) -> ShowParts:
        """Return the things of a source, with keys that compare across both sides."""
        from showvault.flows.stored import parts_like_stored
        from showvault.show.parts import cut_file, parts_of_file

        if source.version is not None:
            return reading_again(self.vault).parts(source.version)
        choose = reader_choice(self.vault) if beside_a_version else None
        data = read_file_as_show(source.path or Path(), choose)
        if not beside_a_version:
            self._last_file = parts_of_file(data, source.name, like=self._last_file)
            return self._last_file
        return parts_like_stored(cut_file(data, source.name))
