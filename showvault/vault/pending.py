"""What is about to be published: a version's fields, its parts and its plain copies."""

import hashlib
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime

import msgspec

from showvault.vault.journal import read_journal_end
from showvault.vault.layout import VaultPaths
from showvault.vault.parts import RECORD, SET_ASIDE, blob_id, safe_name
from showvault.vault.ring import free_name, ring_name
from showvault.vault.store import Store
from showvault.vault.times import format_time
from showvault.vault.versions import Version, VersionFile, encode_version, read_version


@dataclass(frozen=True, kw_only=True, slots=True)
class PendingVersion:
    """A version that is to be published."""

    parent: str | None
    """The commit that was the newest when ``changed`` and ``removed`` were found."""

    changed: Mapping[str, bytes]
    removed: Collection[str]
    files: tuple[VersionFile, ...]
    """Every file of the version; one whose bytes are not new, as it stands in its last version."""

    fresh: Mapping[str, bytes]
    """The bytes of those files that are new, by `VersionFile.path`.

    A SHA-256 that their `VersionFile` already carries is taken to be that of these bytes.
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
    label: str = ""


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
    parts[RECORD] = encode_version(version)
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
    return msgspec.structs.replace(
        file,
        size=len(data),
        sha256=file.sha256 or hashlib.sha256(data).hexdigest(),
        blob="" if file.role == "show" else blob_id(data),
        since=number,
    )
