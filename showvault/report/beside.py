"""Files beside the show that differ, as lines and as records."""

from collections.abc import Sequence
from typing import Any

from showvault.flows.beside import FileChange, saved_at
from showvault.report.terminal import safe, say_size
from showvault.vault.versions import VersionFile


def file_lines(changes: Sequence[FileChange]) -> list[str]:
    """Return a line a file: size, hash and time before and after; what is in it is not told."""
    return [
        f"file {safe(one.name)}: {_say(one.before)} → {_say(one.after)} (not described)"
        for one in changes
    ]


def file_records(changes: Sequence[FileChange]) -> list[dict[str, Any]]:
    """Return the same for programs."""
    return [
        {"name": one.name, "before": _record(one.before), "after": _record(one.after)}
        for one in changes
    ]


def _say(file: VersionFile | None) -> str:
    if file is None:
        return "not there"
    moment = saved_at(file)
    when = f", saved {moment.astimezone():%Y-%m-%d %H:%M:%S}" if moment is not None else ""
    return f"{say_size(file.size)}, SHA-256 {file.sha256[:12]}…{when}"


def _record(file: VersionFile | None) -> dict[str, Any] | None:
    if file is None:
        return None
    moment = saved_at(file)
    saved = moment.isoformat() if moment is not None else None
    return {"size": file.size, "sha256": file.sha256, "saved": saved}
