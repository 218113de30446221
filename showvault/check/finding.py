"""What the check says: one sentence about one place of a show, and how much it matters."""

from collections.abc import Collection, Sequence
from typing import Literal

import msgspec

from showvault.show.addressing import place_order, say_fixture
from showvault.show.places import pointer_to, say_pointer

Severity = Literal["error", "warning", "note"]
"""``error``: the show does not work as it stands; ``warning``: it may not do what was meant;
``note``: often meant, worth knowing."""

SEVERITIES: tuple[Severity, ...] = Severity.__args__  # type: ignore[attr-defined]

NAMED_AT_MOST = 8
"""How many fixtures a sentence names before it counts the rest."""


class Finding(msgspec.Struct, frozen=True):
    """One thing the check has to say."""

    severity: Severity
    rule: str
    """The rule's short name, which stays: "footprint-overlap"."""
    place: str
    """Where, in trade words: "list 1 cue 12.5"."""
    pointer: str
    """Where, as a JSON Pointer (RFC 6901)."""
    text: str
    """The whole sentence, place included."""


Path = tuple[str, ...]
"""The keys that lead to a place in a show."""


def error(rule: str, path: Sequence[str], sentence: str) -> Finding:
    """Say what does not work as it stands."""
    return _finding("error", rule, path, sentence)


def warning(rule: str, path: Sequence[str], sentence: str) -> Finding:
    """Say what may not do what was meant."""
    return _finding("warning", rule, path, sentence)


def note(rule: str, path: Sequence[str], sentence: str) -> Finding:
    """Say what is often meant and worth knowing."""
    return _finding("note", rule, path, sentence)


def name_fixtures(keys: Collection[str], more: int = 0) -> str:
    """Name fixtures and cells in the order of their numbers; many are counted.

    ``more`` are those that the caller has left out.
    """
    ordered = sorted(keys, key=place_order)
    named = ", ".join(map(say_fixture, ordered[:NAMED_AT_MOST]))
    left = max(len(ordered) - NAMED_AT_MOST, 0) + more
    noun = "fixture" if len(ordered) + more == 1 else "fixtures"
    return f"{noun} {named} and {left} more" if left else f"{noun} {named}"


def _finding(severity: Severity, rule: str, path: Sequence[str], sentence: str) -> Finding:
    place = say_pointer(path)
    return Finding(severity, rule, place, pointer_to(path), f"{place}: {sentence}")
