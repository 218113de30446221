"""Benchmarks print their tables when all is done, so that no option is needed to see them."""

from collections.abc import Callable, Iterator

import pytest

_LINES: list[str] = []


@pytest.fixture
def tell() -> Iterator[Callable[[str], None]]:
    yield _LINES.append


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    for line in _LINES:
        terminalreporter.write_line(line)
