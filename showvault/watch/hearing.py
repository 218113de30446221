"""Whether the system's notices tell of the changes that a look at everything finds.

A notifier can go deaf while each of its threads runs. So every change that a look finds must have
been told, or be told within `GRACE` seconds; if not, notices are not to be relied on.
"""

from collections.abc import Iterable
from pathlib import Path

GRACE = 3.0
"""Seconds that a notice may come later than the look that found its change."""

AT_MOST = 10_000


class Hearing:
    """What was told, against what was found. Seconds are those of a monotonic clock."""

    def __init__(self) -> None:
        self._told: dict[Path, float] = {}
        self._suspects: dict[Path, float] = {}

    def told(self, paths: Iterable[Path], now: float) -> None:
        """Notices of these paths came; one of a folder speaks for what is in it."""
        for path in paths:
            self._told[path] = now
            self._suspects.pop(path, None)
        if self._suspects:
            self._suspects = {
                path: since for path, since in self._suspects.items() if not self._was_told(path)
            }

    def found(self, paths: Iterable[Path], now: float) -> None:
        """A look found these changed."""
        for path in paths:
            if not self._was_told(path) and len(self._suspects) < AT_MOST:
                self._suspects.setdefault(path, now)
        self._told = {path: at for path, at in self._told.items() if at >= now - GRACE}

    def start_anew(self) -> None:
        """Notices were known to be missing until now: hold nothing against them."""
        self._told.clear()
        self._suspects.clear()

    def is_full(self) -> bool:
        """Whether so much was told that it is time for a look."""
        return len(self._told) >= AT_MOST

    def untold(self, now: float) -> Path | None:
        """A change that nothing told of in time, if there is one."""
        for path, since in self._suspects.items():
            if now - since >= GRACE:
                return path
        return None

    def next_doubt(self) -> float | None:
        """The moment when the oldest change should have been told."""
        return min(self._suspects.values(), default=None)

    def _was_told(self, path: Path) -> bool:
        return path in self._told or any(folder in self._told for folder in path.parents)
