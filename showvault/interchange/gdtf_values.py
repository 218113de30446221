"""The values of a fixture type's XML (GDTF 1.2, DIN SPEC 15800, Tables 1 and 58), read exactly.

pygdtf reads 255/1s as 255/1, never widens, takes unreadable values for 0 and makes lists as long as
the largest offset; the tests show each of them beside what is read here.
"""

import re
from decimal import Decimal
from functools import lru_cache

from showvault.interchange.exact_numbers import is_up_to

LARGEST_OFFSET = 512
LARGEST_BREAK = 64
MOST_SLOTS = 4
_DMX_VALUE = re.compile(r"(\d{1,10})/([1-4])(s?)", re.ASCII)


@lru_cache(maxsize=4096)  # a fixture type says the same few values again and again
def widen(text: str, slots: int) -> int | None:
    """Return a DMX value in a channel of that many slots; None for a text that is none.

    255/1 is 65535 in two slots, 255/1s is 65280 (GDTF Table 1); 32768/2 in one slot is 128.
    """
    match = _DMX_VALUE.fullmatch(text.strip())
    if match is None:
        return None
    value, size, shift = int(match.group(1)), int(match.group(2)), match.group(3)
    if value >= 256**size:
        return None
    if slots <= size:
        return value >> 8 * (size - slots)
    if shift:
        return value << 8 * (slots - size)
    mirrored = value.to_bytes(size, "big") * slots
    return int.from_bytes(mirrored[:slots], "big")


def size_of(text: str) -> int:
    """Return how many slots a DMX value was written for; 1 for a text that is none."""
    match = _DMX_VALUE.fullmatch(text.strip())
    return 1 if match is None else int(match.group(2))


@lru_cache(maxsize=4096)
def percent(value: int, slots: int) -> int | Decimal:
    """Return a DMX value as a percent of the channel's range."""
    exact = Decimal(value * 100) / (256**slots - 1)
    return int(exact) if exact == int(exact) else round(exact, 6).normalize()


def parse_offset(text: str) -> tuple[int, ...] | None:
    """Return slots, most significant first, none for a virtual channel; None where they cannot be.

    GDTF Table 58, Offset.
    """
    if text in ("", "None"):
        return ()
    values = [value.strip() for value in text.split(",", MOST_SLOTS)]
    if len(values) > MOST_SLOTS or not all(is_up_to(value, LARGEST_OFFSET) for value in values):
        return None
    return tuple(map(int, values))
