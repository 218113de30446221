"""How stored bytes are read back: one git that answers questions for as long as it is needed."""

import contextlib
import subprocess
from collections.abc import Iterator, Sequence
from typing import IO, NamedTuple, cast

from showvault.errors import ShowvaultError
from showvault.vault.git import Git

QUESTION_BYTES = 8 * 1024
"""Bytes asked at once: less than any system's pipe holds, so that neither side waits for ever."""


class Stored(NamedTuple):
    """An object of the history."""

    oid: str
    kind: str
    data: bytes


class MissingObjectError(ShowvaultError):
    """The history does not hold, or no longer holds whole, what was asked for."""

    exit_code = 7

    def __init__(self, name: str) -> None:
        super().__init__(
            f"the vault's history does not hold {name!r} whole",
            hint="check the vault; the ring still holds the newest versions as plain files",
        )
        self.name = name


class Reader:
    """Answers from one `git cat-file --batch`; packs that appear later are seen too."""

    def __init__(self, git: Git) -> None:
        self._git = git
        self._child: subprocess.Popen[bytes] | None = None
        self._unanswered = 0

    def read(self, name: str) -> Stored:
        """The object of ``name``: an id or COMMIT:PATH. Raises MissingObjectError."""
        for stored in self.read_all([name]):
            if stored is not None:
                return stored
        raise MissingObjectError(name)

    def read_all(self, names: Sequence[str]) -> Iterator[Stored | None]:
        """The objects of ``names`` in their order, None where there is none.

        Raises MissingObjectError where git gives up over a damaged one.
        """
        for questions in _in_pipefuls(names):
            if self._unanswered:  # somebody stopped listening; the rest answers no later question
                self.close()
            question = "".join(f"{name}\n" for name in questions).encode("utf-8", "surrogateescape")
            try:
                source = self._ask(question)
            except OSError:  # it died since the last question; a new one may know more
                source = self._ask_another(question)
            self._unanswered = len(questions)
            for name in questions:
                answer = self._answer(source, name)
                self._unanswered -= 1
                yield answer

    def close(self) -> None:
        """End the child; the next question starts a new one."""
        child, self._child = self._child, None
        self._unanswered = 0
        if child is None or child.stdin is None or child.stdout is None:
            return
        with contextlib.suppress(OSError):
            child.stdin.close()
        child.stdout.close()
        child.wait()

    def _ask_another(self, question: bytes) -> IO[bytes]:
        self.close()
        try:
            return self._ask(question)
        except OSError:  # it does not even start: this is no repository for it
            self.close()
            raise MissingObjectError("the history") from None

    def _ask(self, question: bytes) -> IO[bytes]:
        source, sink = self._pipes()
        sink.write(question)
        sink.flush()
        return source

    def _pipes(self) -> tuple[IO[bytes], IO[bytes]]:
        if self._child is None:
            self._child = self._git.start(
                "cat-file", "--batch", holding=None, errors=subprocess.DEVNULL
            )
        # Git is started with pipes, which the type of a child does not tell.
        return cast("IO[bytes]", self._child.stdout), cast("IO[bytes]", self._child.stdin)

    def _answer(self, source: IO[bytes], name: str) -> Stored | None:
        head = source.readline().rstrip(b"\n")
        if head.endswith((b" missing", b" ambiguous")):
            return None
        fields = head.split(b" ")
        if len(fields) == 3 and fields[2].isdigit():
            size = int(fields[2])
            data = source.read(size)
            if len(data) == size and source.read(1) == b"\n":
                return Stored(fields[0].decode("ascii"), fields[1].decode("ascii"), data)
        self.close()  # it died over this one; what it may say next belongs to no question
        raise MissingObjectError(name)


def read_what_is_there(reader: Reader, oids: Sequence[str]) -> Iterator[tuple[str, Stored | None]]:
    """Each object, None for one that git cannot give back; git may die over such a one."""
    asked = 0
    while asked < len(oids):
        try:
            for stored in reader.read_all(oids[asked:]):
                yield oids[asked], stored
                asked += 1
        except MissingObjectError:
            yield oids[asked], None
            asked += 1


def _in_pipefuls(names: Sequence[str]) -> Iterator[list[str]]:
    pipeful: list[str] = []
    size = 0
    for name in names:
        if "\n" in name:  # two questions, whose answers would go to the wrong ones
            raise MissingObjectError(name)
        length = len(name.encode("utf-8", "surrogateescape")) + 1
        if pipeful and size + length > QUESTION_BYTES:
            yield pipeful
            pipeful, size = [], 0
        pipeful.append(name)
        size += length
    if pipeful:
        yield pipeful
