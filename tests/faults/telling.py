"""How a test of faults says what it tried."""

from collections.abc import Callable

Tell = Callable[[str], None]
"""Prints a line that is seen in every run."""
