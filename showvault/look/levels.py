"""How levels and times are counted, so that sums and comparisons are exact.

- A level is a whole number of millionths of a percent, 0 to 100,000,000: it fits 32 bits.
- A time is a whole number of milliseconds.
"""

from decimal import Decimal
from typing import Any

from msgspec import UNSET, UnsetType

FULL = 100_000_000
"""A level of 100 percent."""

ABSENT = -1
"""What stands in a look for a parameter that does not exist there."""


def millionths(percent: float | UnsetType) -> int:
    """Return a level in millionths of a percent; what is unset is 0."""
    return 0 if isinstance(percent, UnsetType) else round(percent * 1_000_000)


def percent_of(level: int) -> Decimal:
    """Return a level as an exact decimal of percents, without needless places."""
    whole, rest = divmod(level, 1_000_000)
    return Decimal(whole) if rest == 0 else Decimal(f"{whole}.{rest:06}".rstrip("0"))


def percent_as_json(level: int) -> int | float:
    """Return a level as the JSON number it is in a show: 65, 62.5."""
    whole, rest = divmod(level, 1_000_000)
    return whole if rest == 0 else level / 1_000_000


def milliseconds(seconds: float | UnsetType) -> int:
    """Return a time in milliseconds; what is unset is 0."""
    return 0 if isinstance(seconds, UnsetType) else round(seconds * 1000)


def seconds_as_json(time: int) -> int | float:
    """Return a time in seconds as the JSON number it is in a show: 3, 2.5."""
    whole, rest = divmod(time, 1000)
    return whole if rest == 0 else time / 1000


def present(value: Any) -> bool:
    """Tell whether a show says a value at all."""
    return value is not UNSET
