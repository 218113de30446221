"""Cautions as text and as records."""

from collections.abc import Iterable
from typing import Any

from showvault.report.terminal import safe
from showvault.review.cautions import Caution
from showvault.review.ranges import say_fixtures


def caution_lines(cautions: Iterable[Caution]) -> list[str]:
    """Return a line for each caution."""
    return [
        f"caution: {safe(caution.text)}"
        + (f" ({safe(say_fixtures(caution.fixtures))})" if caution.fixtures else "")
        for caution in cautions
    ]


def caution_record(caution: Caution) -> dict[str, Any]:
    """Return a caution, for programs."""
    return {
        "hazard": caution.hazard,
        "fixtures": list(caution.fixtures),
        "text": caution.text,
    }
