"""Where the parts of a show name presets: noted while nobody waits, for the save that comes next.

A preset that most cues use moves, and each of them is written anew: to look for its name in all of
them takes longer than to compare them and find their hashes.
"""

import re
from array import array
from bisect import bisect_left
from collections.abc import Mapping
from typing import Final, NamedTuple

REFERENCE: Final = re.compile(rb'"preset"[ \t\r\n]*:[ \t\r\n]*"[^"\\]*"')
"""In JSON, a quotation mark within a text is never bare: this is a key with its value."""

LONGEST: Final = 200
"""Bytes of a reference that is recognised."""

MOST_TEXTS: Final = 0xFFFF
"""Different references that are noted; the numbers of all others are 0."""

_PLACE_BITS: Final = 48


class Referring(NamedTuple):
    """The references in one part."""

    part: bytes
    numbers: Mapping[bytes, int]
    """Of every text that was noted; shared by all parts."""
    numbered: "array[int]"
    """Of each reference the number of its text, and behind that (`_PLACE_BITS`) where it begins."""

    def places(self, text: bytes) -> list[int] | None:
        """Return where a reference stands in the part, in ascending order; None where unknown."""
        number = self.numbers.get(text)
        if number is None:
            return [] if len(text) <= LONGEST and len(self.numbers) < MOST_TEXTS else None
        first = number << _PLACE_BITS
        start = bisect_left(self.numbered, first)
        end = bisect_left(self.numbered, first + (1 << _PLACE_BITS), start)
        return [place - first for place in self.numbered[start:end]]


class References:
    """What was noted of the parts of one show after the other."""

    def __init__(self) -> None:
        self._numbers: dict[bytes, int] = {}
        self._noted: dict[str, Referring] = {}

    def note(self, parts: Mapping[str, bytes]) -> None:
        """Look through those parts that are new, and forget those that are gone."""
        self._noted = {name: self._noted_of(name, data) for name, data in parts.items()}

    def of(self, name: str, part: bytes) -> Referring | None:
        """Return what was noted of a part; None where that was of other bytes."""
        noted = self._noted.get(name)
        return noted if noted is not None and noted.part is part else None

    def _noted_of(self, name: str, part: bytes) -> Referring:
        known = self.of(name, part)
        if known is not None:
            return known
        found = [
            self._number(match[0]) << _PLACE_BITS | match.start()
            for match in REFERENCE.finditer(part)
        ]
        return Referring(part, self._numbers, array("Q", sorted(found)))

    def _number(self, text: bytes) -> int:
        number = self._numbers.get(text)
        if number is None:
            if len(text) > LONGEST or len(self._numbers) == MOST_TEXTS:
                return 0
            number = self._numbers[text] = len(self._numbers) + 1
        return number
