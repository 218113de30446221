from pathlib import Path

import pytest

from tests.watch.evening import Evening


@pytest.fixture
def evening(tmp_path: Path) -> Evening:
    return Evening(tmp_path / "shows")
