"""Where faults are played: in memory where there is such a place, since no power is cut."""

import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.faults.telling import Tell

MEMORY = Path("/dev/shm")


@pytest.fixture
def tell(capsys: pytest.CaptureFixture[str]) -> Tell:
    """Print a line that is seen in every run."""

    def say(line: str) -> None:
        with capsys.disabled():
            print(f"\n{line}")

    return say


@pytest.fixture
def tmp_path() -> Iterator[Path]:
    """A folder of its own for each test; syncing costs nothing in it."""
    place = MEMORY if MEMORY.is_dir() and os.access(MEMORY, os.W_OK) else None
    with tempfile.TemporaryDirectory(dir=place, ignore_cleanup_errors=True) as folder:
        yield Path(folder)
