"""How a version's objects get into the history: one pack, synced by git, that nothing names yet.

The stream ends with `done`, so a child whose parent died in the middle stores nothing that counts;
the branch that git insists on is emptied before the end, so no ref moves (git, fast-import).
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import IO, NamedTuple

from showvault.vault.git import Git, GitError

PENDING = "refs/showvault/pending"
EARLIEST = 0
LATEST = 4_102_444_800
"""Seconds since 1970: git's own check refuses dates outside, for ever; 2100 is far enough."""

FURTHEST_OFFSET = 14 * 60


class NewCommit(NamedTuple):
    """What a commit is made of, beside the parts that the import began with."""

    parent: str | None
    more: Mapping[str, bytes]
    """Parts that were not known when the import began."""

    removed: Collection[str]
    message: str
    author: str
    email: str
    seconds: int
    """Since 1970, UTC; clamped to what git accepts."""

    offset_minutes: int
    """Of local time against UTC."""


class Import:
    """A git that stores parts while the caller finds words for them; `finish` makes the commit."""

    def __init__(
        self, git: Git, parts: Mapping[str, bytes], extra: Sequence[bytes], holding: int | None
    ) -> None:
        import tempfile

        self._git = git
        self._paths = sorted(parts)
        self._complaints = tempfile.TemporaryFile()  # noqa: SIM115  # closed by finish and abandon
        try:
            self._child = git.start(
                *("fast-import", "--quiet", "--done", "--date-format=raw"),
                holding=holding,
                errors=self._complaints,
            )
        except BaseException:
            self._complaints.close()
            raise
        self._write(_blobs([*(parts[path] for path in self._paths), *extra]))

    def finish(self, commit: NewCommit) -> str:
        """The id of the commit, once its pack is synced. Raises DiskError, GitError."""
        self._write(_commit(commit, self._paths))
        try:
            self._sink.close()
        except OSError:
            raise self._failed() from None
        source = self._child.stdout
        answer = b"" if source is None else source.read()
        if self._child.wait() != 0:
            raise self._failed()
        self.abandon()
        oid = answer.strip().decode("ascii", "replace")
        if len(oid) != 40:
            raise GitError("store a version", f"its answer was {oid!r}")
        return oid

    def abandon(self) -> None:
        """End the child, if it still works, and close what was opened for it."""
        if self._child.poll() is None:
            self._child.kill()
            self._child.wait()
        for pipe in (self._child.stdin, self._child.stdout):
            if pipe is not None:
                try:
                    pipe.close()
                except OSError:  # what it never read
                    continue
        self._complaints.close()

    def _write(self, pieces: Iterator[bytes]) -> None:
        try:
            for piece in pieces:
                self._sink.write(piece)
            self._sink.flush()
        except OSError:
            raise self._failed() from None
        except BaseException:
            self.abandon()
            raise

    @property
    def _sink(self) -> IO[bytes]:
        if self._child.stdin is None:
            raise GitError("store a version", "it has no input")
        return self._child.stdin

    def _failed(self) -> Exception:
        self._child.wait()
        self._complaints.seek(0)
        complaint = self._complaints.read(4000)
        self.abandon()
        return self._git.failure("store a version", complaint)


def _blobs(contents: Sequence[bytes]) -> Iterator[bytes]:
    """Yield blobs marked from 2 on; the commit is 1."""
    for mark, data in enumerate(contents, start=2):
        yield b"blob\nmark :%d\n" % mark
        yield from _data(data)


def _commit(commit: NewCommit, paths: Sequence[str]) -> Iterator[bytes]:
    who = _identity(commit)
    yield f"commit {PENDING}\nmark :1\nauthor {who}\ncommitter {who}\n".encode()
    yield from _data(_message(commit.message))
    if commit.parent is not None:
        yield f"from {commit.parent}\n".encode("ascii")
    for path in sorted(commit.removed):
        yield f"D {path}\n".encode()
    for mark, path in enumerate(paths, start=2):
        yield f"M 100644 :{mark} {path}\n".encode()
    for path, data in sorted(commit.more.items()):
        yield f"M 100644 inline {path}\n".encode()
        yield from _data(data)
    yield f"\nget-mark :1\nreset {PENDING}\n\ndone\n".encode()


def _data(data: bytes) -> Iterator[bytes]:
    yield b"data %d\n" % len(data)
    yield data
    yield b"\n"


def _message(text: str) -> bytes:
    return text.encode("utf-8", "replace").replace(b"\0", b"?")


def _identity(commit: NewCommit) -> str:
    name = _without_brackets(commit.author) or "unknown"
    email = _without_brackets(commit.email)
    seconds = max(EARLIEST, min(LATEST, commit.seconds))
    offset = max(-FURTHEST_OFFSET, min(FURTHEST_OFFSET, commit.offset_minutes))
    hours, minutes = divmod(abs(offset), 60)
    sign = "-" if offset < 0 else "+"
    return f"{name} <{email}> {seconds} {sign}{hours:02d}{minutes:02d}"


def _without_brackets(text: str) -> str:
    printable = "".join(letter if letter.isprintable() else " " for letter in text)
    cleaned = printable.replace("<", "(").replace(">", ")")
    return cleaned.encode("utf-8", "replace").decode("utf-8").strip(" .,:;'\"")[:200]
