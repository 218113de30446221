"""What changed since the last version, in words: helpful, and never in the way of keeping."""

import threading
from collections.abc import Callable
from dataclasses import dataclass

from showvault.show.parts import ShowParts

SECONDS = 3.0
"""How long a description may take before the version is kept without it."""

NOT_DESCRIBED = "what changed could not be described"

ReadBlob = Callable[[str], bytes]
_LATER = "(showvault compare takes its time)"

Sides = Callable[[ReadBlob], tuple[ShowParts | None, ShowParts]]
"""Gives the show before (None for a first version) and after, read with the reader it is given."""


class TimeUpError(Exception):
    """The description is no longer waited for."""


@dataclass(frozen=True)
class Describer:
    """Describes within a time limit; whatever fails is told in the words and stops nothing."""

    say: Callable[[ShowParts | None, ShowParts], str]
    seconds: float = SECONDS

    def describe(self, sides: Sides, read_blob: ReadBlob) -> str:
        """Return what differs: a line that stands alone, then perhaps more lines."""
        answers: list[str] = []
        reads = _ReadsUntilTimeIsUp(read_blob)

        def work() -> None:
            try:
                answers.append(self.say(*sides(reads)))
            except Exception as error:
                answers.append(f"{NOT_DESCRIBED} ({type(error).__name__})")

        # A thread is the one way to stop waiting for code that does not come back.
        worker = threading.Thread(target=work, name="describing", daemon=True)
        worker.start()
        worker.join(self.seconds)
        reads.close()
        return answers[0] if answers else f"{NOT_DESCRIBED} within {self.seconds:g} s {_LATER}"


class _ReadsUntilTimeIsUp:
    """Reads from the store for a thread that may be left behind, and not a moment longer."""

    def __init__(self, read_blob: ReadBlob) -> None:
        self._read = read_blob
        self._open = True
        self._lock = threading.Lock()

    def __call__(self, blob: str) -> bytes:
        with self._lock:
            if not self._open:
                raise TimeUpError
            return self._read(blob)

    def close(self) -> None:
        with self._lock:
            self._open = False
