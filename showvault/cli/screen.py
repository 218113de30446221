"""What the watcher prints on a terminal: lines that scroll, and under them one line that stays.

- Lines are folded between words to the width of the terminal, whatever it is by then.
- The line that stays takes one row; made narrower, a terminal may have broken it into more, and all
  of them are wiped before the next is drawn.
"""

import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

from showvault.cli.options import colour, fold_width, now, screen_width

if TYPE_CHECKING:
    from showvault.watch.events import WatchEvent
    from showvault.watch.telling import CalmLine

COLOURS = {"calm": None, "notice": "yellow", "alarm": "red"}
REFRESH_SECONDS = 5.0
LOOK_SECONDS = 0.25
"""How often the width is looked at: not every system tells that a terminal was resized."""

_DEEPER = 10
"""Columns of an event's time: what is folded stands under its words."""


class Screen:
    """Prints events, and keeps the one calm line true while nothing happens."""

    def __init__(self, calm: "CalmLine") -> None:
        self._calm = calm
        self._lock = threading.Lock()
        self._stays = sys.stdout.isatty()
        self._drawn = ""
        self._drawn_for = 0

    def show(self, event: "WatchEvent") -> None:
        """Print an event above the line that stays."""
        from showvault.report.terminal import fold_line
        from showvault.watch.telling import say_event

        level, text = say_event(event)
        first, *notes = text.split("\n")
        lines = [fold_line(first, fold_width(), _DEEPER)]
        folded = "\n".join([*lines, *(fold_line(note, fold_width(), 0) for note in notes)])
        with self._lock:
            self._calm.heed(event)
            self._wipe()
            bell = "\a" if level == "alarm" and self._stays else ""
            click.secho(folded + bell, fg=colour(COLOURS[level]), bold=level == "alarm")
            self._draw()

    @contextmanager
    def refreshing(self) -> Iterator[None]:
        """Keep the age in the line true, and the line as wide as the terminal."""
        if not self._stays:
            yield
            return
        done = threading.Event()
        ticker = threading.Thread(target=self._tick, args=(done,), daemon=True)
        ticker.start()
        try:
            yield
        finally:
            done.set()
            ticker.join()
            with self._lock:
                self._wipe()

    def _tick(self, done: threading.Event) -> None:
        age = 0.0
        while not done.wait(LOOK_SECONDS):
            age += LOOK_SECONDS
            with self._lock:
                if age >= REFRESH_SECONDS or (self._drawn and screen_width() != self._drawn_for):
                    age = 0.0
                    self._wipe()
                    self._draw()

    def _wipe(self) -> None:
        from showvault.report.terminal import rows_of

        if self._drawn:
            up = rows_of(self._drawn, screen_width()) - 1
            click.echo("\r" + (f"\x1b[{up}A" if up else "") + "\x1b[J", nl=False)
            self._drawn = ""

    def _draw(self) -> None:
        if self._stays:
            self._drawn_for = screen_width()
            self._drawn = self._calm.say(now(), self._drawn_for - 1)
            click.secho(self._drawn, nl=False, bold=bool(self._calm.alarm))
