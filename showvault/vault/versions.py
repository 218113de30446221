"""What a version is, how it is recorded in its own tree, and how versions are listed."""

import hashlib
from collections.abc import Iterable
from datetime import datetime, timedelta, timezone
from typing import Annotated, Literal, TypeAlias

import msgspec

from showvault.errors import ShowvaultError
from showvault.vault.git import GitError
from showvault.vault.journal import newest_entries, read_journal
from showvault.vault.labels import read_labels
from showvault.vault.parts import RECORD
from showvault.vault.reader import MissingObjectError
from showvault.vault.store import MAIN, Store
from showvault.vault.times import parse_time

Role = Literal["show", "source", "opaque", "set_aside"]

MOST_VERSIONS = 999_999_999_999
"""As far as the journal's lines count."""

Count: TypeAlias = Annotated[int, msgspec.Meta(ge=0)]


class VersionFile(msgspec.Struct, frozen=True, kw_only=True):
    """One watched file as it was in a version."""

    path: str
    """Where it lay, absolute."""

    name: str
    size: Count
    """Bytes."""

    sha256: Annotated[str, msgspec.Meta(pattern=r"\A([0-9a-f]{64})?\Z")]
    role: Role
    """show: its bytes are the version's parts, joined. The others are stored whole."""

    blob: Annotated[str, msgspec.Meta(pattern=r"\A([0-9a-f]{40})?\Z")] = ""
    """The git blob of a file that is stored whole; set when it is published."""

    since: Count = 0
    """The version in which these bytes were new; set when it is published."""

    saved_ns: int = 0
    """When the file was written, by its own time: nanoseconds since 1970, UTC; 0: not known."""

    @property
    def makes_show(self) -> bool:
        """Tell whether it is the show, or what the show was made of."""
        return self.role in ("show", "source")

    @property
    def stands_alone(self) -> bool:
        """Tell whether a ref of its own holds it; the others lie in the version's tree."""
        return self.role in ("source", "opaque")


class Version(msgspec.Struct, frozen=True, kw_only=True):
    """The watched files at one settled moment."""

    number: Annotated[int, msgspec.Meta(ge=1, le=MOST_VERSIONS)]
    """Counted by the vault from 1, without gaps."""

    time: str
    """RFC 3339, UTC."""

    offset_minutes: Annotated[int, msgspec.Meta(gt=-24 * 60, lt=24 * 60)] = 0
    """Of the local time where it was saved, against UTC."""

    who: str = ""
    note: str = ""
    summary: str = ""
    good: bool = True
    """Whole; a version that is not was set aside."""

    understood: bool = True
    reason: str = ""
    """Why it was set aside."""

    files: tuple[VersionFile, ...] = ()
    reader: str = ""
    """Name and version of what read the show; empty for none."""

    commit: str = ""
    labels: tuple[str, ...] = ()

    @property
    def moment(self) -> datetime:
        """When it was saved, in the local time of then."""
        return parse_time(self.time).astimezone(timezone(timedelta(minutes=self.offset_minutes)))

    @property
    def show_file(self) -> VersionFile | None:
        """The file that is the show, or that the show was made of."""
        return next((file for file in self.files if file.makes_show), None)

    @property
    def renews_show(self) -> bool:
        """Tell whether the show was new in it, and not only a file beside the show."""
        return self.show_file is not None and self.show_file.since == self.number

    @property
    def label(self) -> str:
        """Every label in one line; empty for none."""
        return ", ".join(self.labels)


class DamagedVersionError(ShowvaultError):
    """The record of a version, or bytes it names, are not what was kept."""

    exit_code = 7

    def __init__(self, what: str) -> None:
        super().__init__(
            f"{what} is damaged in the vault",
            hint="showvault verify looks at all of it; the ring may still hold it as a plain file",
        )


def encode_version(version: Version) -> bytes:
    """The record that lies in the version's tree; commit and labels are told from outside it."""
    fields = msgspec.to_builtins(version)
    del fields["commit"], fields["labels"]
    return msgspec.json.format(msgspec.json.encode(fields), indent=1) + b"\n"


def read_version(store: Store, commit: str) -> Version:
    """The version of a commit, without its labels.

    Raises MissingObjectError, DamagedVersionError.
    """
    return _decode(store.reader.read(f"{commit}:{RECORD}").data, commit)


def list_versions(store: Store, limit: int | None = None) -> list[Version]:
    """The newest versions, newest first, all of them without a ``limit``.

    One whose record is damaged stands in its place as not good; where the line of versions itself
    is damaged, the journal tells the rest. Raises DamagedRefError, DiskError.
    """
    head = store.head()
    if head is None:
        return []
    labels = read_labels(store)
    return [
        msgspec.structs.replace(version, labels=labels.get(version.commit, ()))
        for version in read_versions(store, _list_commits(store, head, limit))
    ]


def read_versions(store: Store, commits: list[str]) -> Iterable[Version]:
    """The versions of some commits, without their labels; what cannot be read is not good.

    Raises DiskError.
    """
    names = [f"{commit}:{RECORD}" for commit in commits]
    try:
        for commit, stored in zip(commits, store.reader.read_all(names), strict=True):
            yield _decode(stored.data, commit) if stored else _unreadable(commit)
    except (MissingObjectError, DamagedVersionError):
        yield from _read_singly(store, commits)


def _list_commits(store: Store, head: str, limit: int | None) -> list[str]:
    count = () if limit is None else (f"--max-count={limit}",)
    try:
        listed = store.git.run(
            *("rev-list", "--first-parent", *count, head, "--"), doing="list the versions"
        )
    except GitError:
        reported = newest_entries(read_journal(store.history.parent / "journal"))
        return [reported[number].commit for number in sorted(reported, reverse=True)][:limit]
    return listed.decode("ascii").split()


def latest_good(store: Store) -> Version | None:
    """The newest version that was whole, without its labels."""
    commit = store.head()
    while commit is not None:
        version = read_version(store, commit)
        if version.good:
            return version
        commit = parent_of(store, commit)
    return None


def parent_of(store: Store, commit: str) -> str | None:
    """The version before ``commit``; None for the first. Raises MissingObjectError."""
    head, _, _ = store.reader.read(commit).data.partition(b"\n\n")
    parents = (line for line in head.split(b"\n") if line.startswith(b"parent "))
    first = next(parents, None)
    return first[7:].decode("ascii", "replace") if first else None


def read_file(store: Store, file: VersionFile) -> bytes:
    """The bytes of a file that is stored whole, checked against their SHA-256.

    Raises MissingObjectError, DamagedVersionError.
    """
    data = store.read_blob(file.blob)
    if hashlib.sha256(data).hexdigest() != file.sha256:
        raise DamagedVersionError(f"{file.name!r}")
    return data


def _read_singly(store: Store, commits: list[str]) -> Iterable[Version]:
    for commit in commits:
        try:
            yield read_version(store, commit)
        except (MissingObjectError, DamagedVersionError):
            yield _unreadable(commit)


def _unreadable(commit: str) -> Version:
    return Version(number=0, time="", good=False, reason="the record is damaged", commit=commit)


def _decode(text: bytes, commit: str) -> Version:
    try:
        version = msgspec.json.decode(text, type=Version)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError) as error:
        raise DamagedVersionError(f"the record of version {commit[:12]} in {MAIN}") from error
    return msgspec.structs.replace(version, commit=commit, labels=())
