"""What is about to be published: a version's fields, its parts and its plain copies."""

import hashlib
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import NamedTuple

import msgspec

from showvault.vault.differing import Difference
from showvault.vault.journal import read_journal_end
from showvault.vault.layout import VaultPaths
from showvault.vault.parts import SET_ASIDE, blob_id, safe_name
from showvault.vault.ring import free_name, ring_name
from showvault.vault.store import Store
from showvault.vault.times import format_time
from showvault.vault.versions import Version, VersionFile, read_version


class Words(NamedTuple):
    """What is said of a version; finding it may take a while."""

    summary: str
    message: str
    note: str
    understood: bool
    digests: Mapping[str, str] = {}
    """The SHA-256 of shows that came without one, by `VersionFile.path`; else it is found here."""


@dataclass(frozen=True, kw_only=True, slots=True)
class PendingVersion:
    """A version that is to be published."""

    parent: str | None
    """The commit that was the newest when ``changed`` and ``removed`` were found."""

    changed: Mapping[str, bytes]
    removed: Collection[str]
    differences: Mapping[str, Difference] = field(default_factory=dict)
    """All that differs in some of ``changed`` from the parent's part of that name."""

    files: tuple[VersionFile, ...]
    """Every file of the version; one whose bytes are not new, as it stands in its last version."""

    fresh: Mapping[str, bytes]
    """The bytes of those files that are new, by `VersionFile.path`.

    A SHA-256 that their `VersionFile` already carries is taken to be that of these bytes; that of a
    show may come with the words.
    """

    time: datetime
    """When it was saved, with the local offset."""

    who: str
    email: str = ""
    note: str = ""
    summary: str = ""
    good: bool = True
    understood: bool = True
    reason: str = ""
    reader: str = ""
    message: str = ""

    words: Callable[[], Words] | None = None
    """Finds the words while the parts are being stored, in place of those above, if given."""


def with_words(pending: PendingVersion, version: Version) -> tuple[PendingVersion, Version]:
    """Return both with what is found now: the words, and each digest that is still missing."""
    if pending.words is None:
        return pending, _with_digests(version, pending.fresh, {})
    words = pending.words()
    version = msgspec.structs.replace(
        version, summary=words.summary, note=words.note, understood=words.understood
    )
    version = _with_digests(version, pending.fresh, words.digests)
    return replace(pending, message=words.message), version


def _with_digests(
    version: Version, fresh: Mapping[str, bytes], digests: Mapping[str, str]
) -> Version:
    def complete(file: VersionFile) -> VersionFile:
        if file.sha256 or file.path not in fresh:
            return file
        digest = digests.get(file.path) or _digest(fresh[file.path])
        return msgspec.structs.replace(file, sha256=digest)

    return msgspec.structs.replace(version, files=tuple(map(complete, version.files)))


def number_version(paths: VaultPaths, store: Store, pending: PendingVersion) -> Version:
    previous = read_version(store, pending.parent).number if pending.parent else 0
    # A number that was once reported is never given again, even if its version was damaged since.
    previous = max([previous, *(entry.number for entry in read_journal_end(paths.journal))])
    offset = pending.time.utcoffset()
    return Version(
        number=previous + 1,
        time=format_time(pending.time),
        offset_minutes=int(offset.total_seconds() // 60) if offset else 0,
        who=pending.who,
        note=pending.note,
        summary=pending.summary,
        good=pending.good,
        understood=pending.understood,
        reason=pending.reason,
        files=tuple(_complete(file, pending.fresh, previous + 1) for file in pending.files),
        reader=pending.reader,
    )


def all_parts(pending: PendingVersion, version: Version) -> dict[str, bytes]:
    parts = dict(pending.changed)
    set_aside = [file for file in version.files if file.role == "set_aside"]
    for index, file in enumerate(set_aside):
        if file.path in pending.fresh:
            name = safe_name(file.name)
            place = f"{SET_ASIDE}/{name}" if index == 0 else f"{SET_ASIDE}/{index + 1}/{name}"
            parts[place] = pending.fresh[file.path]
    return parts


def ring_copies(
    pending: PendingVersion, version: Version, taken: Collection[str]
) -> dict[str, bytes]:
    copies: dict[str, bytes] = {}
    if not version.good:
        return copies
    for file in version.files:
        if file.path in pending.fresh and file.role != "set_aside":
            name = ring_name(version.number, version.moment, file.name)
            copies[free_name(name, [*taken, *copies])] = pending.fresh[file.path]
    return copies


def _complete(file: VersionFile, fresh: Mapping[str, bytes], number: int) -> VersionFile:
    if file.path not in fresh:
        return file
    data = fresh[file.path]
    file = msgspec.structs.replace(file, size=len(data), since=number)
    if file.role == "show":  # stored as its parts; its digest may come with the words
        return file
    return msgspec.structs.replace(file, sha256=file.sha256 or _digest(data), blob=blob_id(data))


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()
