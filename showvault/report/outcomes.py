"""What keeping and restoring did, as text and as records."""

from collections.abc import Iterable
from typing import Any

from showvault.flows.by_hand import Taken
from showvault.flows.restore import Restored
from showvault.report.cautions import caution_record
from showvault.report.records import version_record
from showvault.report.terminal import safe, say_size
from showvault.review.cautions import Caution


def snapshot_record(taken: Taken) -> dict[str, Any]:
    """Return what a snapshot by hand did, for programs; ``number`` is the version it led to."""
    newest = taken.newest
    shown = newest or (taken.set_aside[-1].version if taken.set_aside else None)
    return {
        "number": shown.number if shown else None,
        "unchanged": not taken.kept and not taken.set_aside,
        "version": version_record(shown) if shown else None,
        "kept": [
            {
                "number": one.version.number,
                "path": str(one.path),
                "sha256": one.sha256,
                "notes": list(one.notes),
            }
            for one in taken.kept
        ],
        "set_aside": [
            {
                "number": one.version.number,
                "path": str(one.path),
                "sha256": one.sha256,
                "reason": one.reason,
            }
            for one in taken.set_aside
        ],
        "failed": [{"path": str(path), "reason": str(error)} for path, error in taken.failed],
    }


def snapshot_text(taken: Taken) -> str:
    """Say what a snapshot by hand did."""
    lines = []
    for aside in taken.set_aside:
        lines.append(
            f"set aside as version {aside.version.number}: {safe(aside.path.name)} is not whole "
            f"({safe(aside.reason)}); its bytes are kept apart from the good versions"
        )
    for version in dict.fromkeys(one.version for one in taken.kept):
        lines.append(f"kept version {version.number}: {safe(version.summary)}")
        lines += [f"  {safe(note)}" for note in version.note.split("\n") if note]
    if not taken.kept and taken.unchanged:
        number = taken.unchanged[-1].version.number
        lines.append(f"nothing new: the newest bytes are kept already (version {number})")
    return "\n".join(lines)


def restored_record(restored: Restored, cautions: Iterable[Caution]) -> dict[str, Any]:
    """Return what a restore did, for programs."""
    return {
        "restored": restored.source.number,
        "number": restored.version.number if restored.version else None,
        "replaced": [version.number for version in restored.replaced],
        "not_recorded": str(restored.not_recorded) if restored.not_recorded else None,
        "files": [
            {
                "path": str(file.path),
                "size": file.size,
                "sha256": file.sha256,
                "written": file.written,
            }
            for file in restored.files
        ],
        "cautions": [caution_record(caution) for caution in cautions],
    }


def restored_text(restored: Restored) -> str:
    """Say what a restore did."""
    lines = [
        f"version {version.number} keeps what stood there before" for version in restored.replaced
    ]
    for file in restored.files:
        did = "written" if file.written else "already stands there"
        lines.append(
            f"{safe(str(file.path))}: version {restored.source.number} {did}, "
            f"{say_size(file.size)}, SHA-256 {file.sha256[:12]}… checked"
        )
    if restored.version is not None:
        lines.append(
            f"kept as version {restored.version.number}; `showvault restore previous` undoes this"
        )
    return "\n".join(lines)
