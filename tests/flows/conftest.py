"""The room that the tests of the flows share."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.flows.rooms import Room, open_room


@pytest.fixture
def room(tmp_path: Path) -> Iterator[Room]:
    yield from open_room(tmp_path)
