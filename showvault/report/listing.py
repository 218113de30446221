"""The versions as a table."""

from collections.abc import Sequence
from datetime import datetime

from showvault.flows.protection import find_lag
from showvault.report.terminal import safe, say_age, say_moment, table
from showvault.vault.versions import Version


def listing_text(versions: Sequence[Version], now: datetime, width: int) -> str:
    """Return the versions, newest first, a line each."""
    if not versions:
        return "nothing is kept yet"
    rows = [
        (
            str(version.number or "?"),
            say_moment(version.moment, now) if version.number else "",
            version.who,
            _state(version),
            _what(version),
        )
        for version in versions
    ]
    text = table(("no.", "time", "who", "state", "what changed"), rows, width)
    older = versions[-1].number - 1
    if older > 0:
        text += f"\n… and {older} older: showvault list --all"
    return text


def say_version(version: Version, now: datetime) -> str:
    """Return one version in a line: number, label, time, who."""
    label = f" «{version.label}»" if version.label else ""
    moment = say_moment(version.moment, now)
    return safe(f"version {version.number}{label}, {moment}, {version.who}")


def _state(version: Version) -> str:
    if not version.number:
        return "damaged"
    if not version.good:
        return "set aside"
    return "good" if version.understood else "good, not understood"


def _what(version: Version) -> str:
    label = f"«{version.label}» " if version.label else ""
    lag = find_lag(version)
    behind = f"[desk file {say_age(lag.lag)} newer: not described] " if lag else ""
    if not version.number:
        return f"{label}{version.reason}: showvault verify --mend"
    return label + behind + version.summary
