"""What a settled file is to the vault: the show, something a show is made of, or neither."""

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from showvault.files.reading import SettledFile
from showvault.flows.hashing import Hashing
from showvault.flows.succession import HeldShow
from showvault.interchange.reader import Loss, Reader, Role
from showvault.show.cutting import CutShow, cut_into_parts
from showvault.show.reading import find_faults
from showvault.show.recutting import Recut, cut_like
from showvault.show.writing import write_show
from showvault.vault.versions import VersionFile

_SPELLED_OUT = re.compile(r"\\u(dc[89a-f][0-9a-f])")
"""A byte of a file name that is no UTF-8, as Python spells it (PEP 383)."""

LOSSES_NAMED = 5
"""Kinds of loss that a version's note tells."""

WORTH_A_REASON = 2_000_000
"""Bytes: finding out why takes longer in a larger file, and the save is not kept yet."""

ChooseReader = Callable[[str, bytes], Reader]


@dataclass(frozen=True)
class IncomingFile:
    """A settled file; ``recut`` is its neutral show, cut into parts, where it has one."""

    file: SettledFile
    hashing: Hashing
    role: Role
    recut: Recut | None = None
    reader: str = ""
    notes: tuple[str, ...] = ()

    @property
    def cut(self) -> CutShow | None:
        """The neutral show in parts, where there is one."""
        return None if self.recut is None else self.recut.cut

    @property
    def path(self) -> str:
        """Where the file lies, as the vault names it."""
        return name_of(self.file.path)

    @property
    def sha256(self) -> str:
        """Of the file's bytes, in hexadecimal; waited for where it is not known yet."""
        return self.hashing.result()

    def as_version_file(self) -> VersionFile:
        """Return what the version says of the file; of a show, its SHA-256 is found later."""
        return VersionFile(
            path=self.path,
            name=name_of(self.file.path.name),
            size=len(self.file.data),
            sha256="" if self.role == "show" else self.sha256,
            role=self.role,
            saved_ns=self.file.identity.mtime_ns,
        )

    def after_reader(self, before: str) -> "IncomingFile":
        """Return the file with a note where the show before it was read in another way."""
        same = before.partition("/")[0] == self.reader.partition("/")[0]
        if not same or before == self.reader:
            return self
        note = (
            f"read by {self.reader}, and the version before by {before}: some of what changed may "
            "be the reader's doing"
        )
        return replace(self, notes=(*self.notes, note))

    def as_opaque(self, note: str = "") -> "IncomingFile":
        """Return the file as one that is kept and not described: how it was read says nothing."""
        notes = (note,) if note else ()
        return replace(self, role="opaque", recut=None, reader="", notes=notes)


def name_of(path: Path | str) -> str:
    """Return a path as text that can be stored; bytes that are no text are spelled out."""
    return str(path).encode("utf-8", "backslashreplace").decode()


def path_of(name: str) -> Path:
    """Return the path that `name_of` spelled out."""
    return Path(_SPELLED_OUT.sub(lambda byte: chr(int(byte[1], 16)), name))


def read_incoming(
    file: SettledFile, choose_reader: ChooseReader, last: HeldShow | None = None
) -> IncomingFile:
    """Find out what a file is. Whatever a reader does, the file comes out fit to be kept.

    ``last`` is the show that was kept before, where it is still in memory.
    """
    reader = choose_reader(file.path.name, file.data)
    incoming = IncomingFile(
        file, Hashing([file.data], len(file.data)), reader.role, reader=maker_of(reader)
    )
    match reader.role:
        case "show":
            cut, references = (None, None) if last is None else (last.cut, last.references)
            recut = cut_like(file.data, cut, references)
            if recut is None:
                return incoming.as_opaque(_say_why_in_one_piece(file.data))
            return replace(incoming, recut=recut)
        case "source":
            return _read_source(incoming, reader)
        case _:
            return incoming.as_opaque()


def _say_why_in_one_piece(data: bytes) -> str:
    said = "kept as it is: its parts cannot be told apart"
    if len(data) > WORTH_A_REASON:
        return f"{said} (showvault check says why)"
    try:
        faults = find_faults(data)
    except Exception:  # keeping comes first, whatever becomes of the reason
        return said
    return f"{said}: {faults[0].text}" if faults else said


def _read_source(incoming: IncomingFile, reader: Reader) -> IncomingFile:
    try:
        result = reader.read(incoming.file.data, {})
        cut = None if result.show is None else cut_into_parts(write_show(result.show))
    except Exception as error:  # keeping comes first, whatever a reader does
        return incoming.as_opaque(f"kept as it is: not readable as a show ({error})")
    if cut is None or not any(
        thing.kind == "cue" and b'"levels"' in cut.parts[name] for thing, name in cut.names.items()
    ):
        return incoming.as_opaque()  # a patch or a cue sheet alone is no show
    return replace(incoming, recut=Recut(cut), notes=(*result.notes, *_say_losses(result.losses)))


def _say_losses(losses: Sequence[Loss]) -> Iterator[str]:
    """Say what the show does not carry of the file; the file itself is kept whole."""
    for loss in losses[:LOSSES_NAMED]:
        yield f"not carried into the show: {loss}"
    if len(losses) > LOSSES_NAMED:
        yield f"… and {len(losses) - LOSSES_NAMED} more kinds: showvault convert tells them all"


def maker_of(reader: Reader) -> str:
    """Return what a version says of the reader that made its show: "ascii/1"."""
    return f"{reader.name}/{reader.version}"
