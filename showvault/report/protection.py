"""Whether the show is protected, as text and as a record."""

from datetime import datetime, timedelta
from typing import Any

from showvault.files.lock import Holder
from showvault.flows.protection import DeskFileAhead, Protection
from showvault.report.records import version_record
from showvault.report.terminal import safe, say_age, say_ago, say_moment
from showvault.vault.versions import Version


def protection_text(protection: Protection, now: datetime) -> str:
    """Say whether the show is protected; if it is not, say that first and loudest."""
    lines = [_headline(protection, now)]
    for path in protection.missing:
        lines.append(f"NOT THERE: {safe(str(path))}, or what was saved in it, is gone")
    good, newest = protection.newest_good, protection.newest
    if good is None:
        lines.append("nothing is kept yet")
    else:
        lines.append(
            f"last good version: {good.number}, {say_ago(good.moment, now)}: {safe(good.summary)}"
        )
        lines += _show_lines(good, protection.newest_show, now)
    if newest is not None and not newest.good:
        lines.append(
            f"SET ASIDE since then: version {newest.number}, {say_ago(newest.moment, now)}: "
            f"{safe(newest.reason)}"
        )
    if protection.last_save is not None:
        lines.append(f"last save seen: {say_moment(protection.last_save, now)}")
    if protection.unkept:
        names = ", ".join(safe(path.name) for path in protection.unkept[:3])
        why = ": showvault watch says why" if protection.late else ""
        lines.append(f"NOT KEPT YET: {names}{why} (showvault snapshot keeps it now)")
    for folder in protection.unreadable:
        lines.append(f"NOT LOOKED INTO: {safe(str(folder))} (this user may not read it)")
    if protection.broken:
        names = ", ".join(safe(path.name) for path in protection.broken[:3])
        lines.append(f"NOT WHOLE as it was saved last: {names}. SAVE AGAIN.")
    if protection.ahead is not None:
        lines.append(say_ahead(protection.ahead, now))
    for damage in protection.damages[:3]:
        lines.append(f"DAMAGED: {safe(str(damage))} (showvault verify --mend)")
    lines.append(
        f"{_number(protection.count, 'version')} in {safe(str(protection.folder))}, "
        f"{_number(protection.ring, 'file')} in its ring"
    )
    return "\n".join(lines)


def say_ahead(ahead: DeskFileAhead, now: datetime) -> str:
    """Say what the readable show does not describe, and for how long."""
    desk, export = safe(ahead.desk_file.name), safe(ahead.export.name)
    return (
        f"NOT DESCRIBED: desk file {desk} {say_moment(ahead.desk_time, now)}, "
        f"export {export} {say_moment(ahead.export_time, now)}: "
        f"{say_age(ahead.lag)} not described"
    )


def ahead_record(ahead: DeskFileAhead) -> dict[str, Any]:
    """Return the same for programs; ``lag_seconds`` is the time not described."""
    return {
        "desk_file": str(ahead.desk_file),
        "desk_time": ahead.desk_time.isoformat(),
        "export": str(ahead.export),
        "export_time": ahead.export_time.isoformat(),
        "lag_seconds": ahead.lag.total_seconds(),
    }


def protection_record(protection: Protection) -> dict[str, Any]:
    """Return what ``status`` tells, for programs."""
    watcher = protection.watcher
    return {
        "protected": protection.protected,
        "name": protection.name,
        "vault": str(protection.folder),
        "watched": [str(path) for path in protection.watched],
        "missing": [str(path) for path in protection.missing],
        "watcher": None
        if watcher is None
        else {"pid": watcher.pid, "host": watcher.host, "since": str(watcher.since)},
        "versions": protection.count,
        "ring": protection.ring,
        "newest": version_record(protection.newest) if protection.newest else None,
        "newest_good": version_record(protection.newest_good) if protection.newest_good else None,
        "newest_show": version_record(protection.newest_show) if protection.newest_show else None,
        "last_save": protection.last_save.isoformat() if protection.last_save else None,
        "not_whole": [str(path) for path in protection.broken],
        "not_kept": [str(path) for path in protection.unkept],
        "not_looked_into": [str(path) for path in protection.unreadable],
        "late": [str(path) for path in protection.late],
        "damage": [str(damage) for damage in protection.damages],
        "desk_file_ahead": ahead_record(protection.ahead) if protection.ahead else None,
    }


def _number(count: int, noun: str) -> str:
    return f"{count} {noun}{'' if count == 1 else 's'}"


def _headline(protection: Protection, now: datetime) -> str:
    watched = ", ".join(safe(path.name) for path in protection.watched)
    watcher = protection.watcher
    if watcher is None:
        return f"NOT PROTECTED: nothing watches {watched} (start it with: showvault watch)"
    state = "PROTECTED" if protection.protected else "NOT PROTECTED"
    late = ", but what was saved is NOT KEPT" if protection.late else ""
    return f"{state}: {watched}, watched by process {watcher.pid}{_how_long(watcher, now)}{late}"


def _how_long(watcher: Holder, now: datetime) -> str:
    try:
        age = say_age(max(now - datetime.fromisoformat(watcher.since), timedelta()))
    except (ValueError, TypeError):  # what it wrote of itself is damaged
        return ""
    return f" since {age}" if age == "just now" else f" for {age}"


def _show_lines(good: Version, show: Version | None, now: datetime) -> list[str]:
    """Say what the show itself changed last, where the last version is of a file beside it."""
    if show is None or show.number == good.number:
        return []
    ago = say_ago(show.moment, now)
    return [f"the show itself: version {show.number}, {ago}: {safe(show.summary)}"]
