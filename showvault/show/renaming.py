"""References to presets that stand where others stood: a preset that many cues use has moved.

Learned from one part, they are looked for in the next: that nothing else is new in it is plain from
its bytes, and neither its form nor its values have to be read again.
"""

from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple, TypeAlias

from showvault.show.addressing import Thing
from showvault.show.referring import LONGEST, REFERENCE, Referring

Texts: TypeAlias = frozenset[tuple[bytes, bytes]]
"""References as they are written, key and value: what stood there before, and what does now."""

NO_TEXTS: Texts = frozenset()
NONE_RENAMED: Mapping[Thing, Texts] = MappingProxyType({})

MOST = 16
"""References that are looked for in each part."""

_KEY = b'"preset"'


def holds_extra(part: bytes) -> bool:
    """Whether a part may have what looks like a reference and is none."""
    # One letter is found sooner than a word.
    return b"x" in part and b'"extra"' in part


class Replaced(NamedTuple):
    """The one text in a part that became another, and every place where it stood."""

    old: bytes
    new: bytes
    places: Sequence[int]
    """Each the offset of ``old`` in the part as it was, in ascending order."""


class Renamed(NamedTuple):
    """A part with references replaced."""

    data: bytes
    texts: Texts
    """Which they are; none where not every one may be a reference."""
    replaced: Replaced | None
    """All that was replaced, where that is one text."""


class Renaming:
    """The references that are known to have become others."""

    def __init__(self) -> None:
        self._texts: dict[bytes, Texts] = {}

    def replace(self, was: bytes, noted: Referring | None = None) -> Iterator[Renamed]:
        """Yield a part with one more of its references replaced at a time.

        A part that was one JSON value is one still. ``noted`` are the references in it, where they
        are known.
        """
        used = NO_TEXTS
        for texts in self._texts.values():
            ((old, new),) = texts
            between, places = _apart(was, old, None if used else noted)
            if not places:
                continue
            was = new.join(between)
            replaced = None if used else Replaced(old, new, places)
            used = used | texts if used else texts
            yield Renamed(was, NO_TEXTS if holds_extra(was) else used, replaced)

    def learn(self, was: bytes, data: bytes) -> Texts:
        """Take note of what differs in a part; return it where it is all that differs."""
        renamed = was
        while self._learn_one(renamed, data):
            for renamed, texts, _ in self.replace(was):
                if renamed == data:
                    return texts
        return NO_TEXTS

    def _learn_one(self, was: bytes, data: bytes) -> bool:
        at = _first_difference(was, data)
        old, new = _reference_at(was, at), _reference_at(data, at)
        if not old or not new or old in self._texts or len(self._texts) == MOST:
            return False
        self._texts[old] = frozenset({(old, new)})
        return True


def _apart(was: bytes, text: bytes, noted: Referring | None) -> tuple[list[bytes], list[int]]:
    """Return what stands before, between and behind a text in a part, and where it stands."""
    places = None if noted is None else noted.places(text)
    if places is not None:
        return _between(was, places, len(text)), places
    between = was.split(text)
    return between, _places(between, len(text))


def _between(was: bytes, places: Sequence[int], length: int) -> list[bytes]:
    """Return what stands before, between and behind texts of a length at these places."""
    pieces: list[bytes] = []
    at = 0
    for place in places:
        pieces.append(was[at:place])
        at = place + length
    pieces.append(was[at:])
    return pieces


def _places(between: Sequence[bytes], length: int) -> list[int]:
    """Where the texts stood that the pieces stand before, between and behind."""
    places: list[int] = []
    at = -length
    for piece in between[:-1]:
        at += length + len(piece)
        places.append(at)
    return places


def _first_difference(one: bytes, other: bytes) -> int:
    same, most = 0, min(len(one), len(other))
    while same < most:
        half = (same + most + 1) // 2
        if one[same:half] == other[same:half]:
            same = half
        else:
            most = half - 1
    return same


def _reference_at(data: bytes, at: int) -> bytes:
    """Return the reference in which a place is, behind its key; empty where it is in none."""
    start = data.rfind(_KEY, max(0, at - LONGEST), at)
    match = REFERENCE.match(data, start) if start >= 0 else None
    return match[0] if match and at < match.end() else b""
