"""What every story starts with: a desk nobody has touched, and a show small enough to read."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.stories.desk import SAMPLES, Desk


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(tmp_path)


@pytest.fixture(scope="session")
def play() -> bytes:
    """The sample play, as it was saved."""
    return (SAMPLES / "lighthouse_play.json").read_bytes()


@pytest.fixture(scope="session")
def edited(play: bytes) -> Callable[[int], bytes]:
    """Return the play with fixture 20 of cue 4 at another level: one small, true edit."""

    def at_level(level: int) -> bytes:
        show: dict[str, Any] = json.loads(play)
        show["cue_lists"]["1"]["cues"]["4"]["levels"]["20"]["Dimmer"] = level
        return json.dumps(show, indent=2).encode()

    return at_level
