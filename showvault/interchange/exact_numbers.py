"""Numbers of a stranger's XML as a show holds them: exact, finite, of a size that means something.

The libraries that read rigs take "bogus" for 0 and "nan" for a place in the room; here such a text
is no number, and whoever asks tells it.
"""

import re
from decimal import Decimal, InvalidOperation
from functools import lru_cache

WHOLE = re.compile(r"\d{1,9}", re.ASCII)
"""A whole number as MVR and GDTF write it."""
_FARTHEST = Decimal(10) ** 12
_DIGITS = 15
"""More than that, and a number came out of binary arithmetic."""


@lru_cache(maxsize=8192)
def plain_number(text: str) -> int | Decimal | None:
    """Return a number as written, with at most 15 digits; None for what is none."""
    try:
        exact = Decimal(text)
    except InvalidOperation:
        return None
    if not exact.is_finite() or abs(exact) > _FARTHEST:
        return None
    if len(text) > _DIGITS:
        exact = Decimal(f"{float(exact):.{_DIGITS}g}")
    whole = int(exact)
    return whole if whole == exact else exact.normalize()


def is_up_to(text: str, largest: int) -> bool:
    """Tell whether a text is a whole number from 1 to the largest."""
    return WHOLE.fullmatch(text) is not None and 1 <= int(text) <= largest
