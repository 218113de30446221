"""A show as plain JSON values: what comparison, merging and canonical writing work on.

Numbers are ``int`` or ``Decimal``, so that equality is exact: Decimal("50.0") == 50.
"""

import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import MAX_EMAX, MAX_PREC, MIN_EMIN, Context, Decimal
from typing import Any, TypeAlias

import msgspec

Tree: TypeAlias = Any
"""None, bool, int, Decimal, str, list of Tree, or dict of str to Tree."""


class Doubled(dict[str, Any]):
    """An object in which keys were given more than once; the last value stands."""

    def __init__(self, members: dict[str, Any], twice: Iterable[str]) -> None:
        super().__init__(members)
        self.twice = tuple(dict.fromkeys(twice))


@dataclass(frozen=True)
class NonFinite:
    """NaN or an infinity, which JSON has no word for."""

    text: str


_LONGEST_INTEGER = 400
_EXACT = Context(prec=MAX_PREC, Emax=MAX_EMAX, Emin=MIN_EMIN)
_MEMBERS = msgspec.json.Decoder(dict[str, msgspec.Raw])
_TREES = msgspec.json.Decoder(float_hook=Decimal)

encode_tree = msgspec.json.Encoder(decimal_format="number").encode
"""Write a value as compact JSON, its numbers exactly as they are."""


def parse_part(data: bytes | msgspec.Raw) -> Tree:
    """Parse one part of a whole show, fast; a doubled key passes (the last value stands).

    Bytes that are no UTF-8 read as U+FFFD: the part can still be described.
    """
    try:
        return _TREES.decode(data)
    except UnicodeDecodeError:
        return parse_part(bytes(data).decode("utf-8", "replace").encode())
    except msgspec.ValidationError:  # a whole number longer than the fast parser takes
        return parse_exactly(bytes(data), dict)


def parse_exactly(text: str | bytes, members: Callable[[list[tuple[str, Any]]], Any]) -> Tree:
    """Parse a document patiently: numbers of any length, NaN and Infinity kept visible.

    ``members`` makes an object of its keys and values. Raises json.JSONDecodeError, RecursionError.
    """
    return json.loads(
        text,
        parse_float=Decimal,
        parse_int=_parse_integer,
        parse_constant=NonFinite,
        object_pairs_hook=members,
    )


def _parse_integer(text: str) -> int | Decimal:
    return int(text) if len(text) <= _LONGEST_INTEGER else Decimal(text)


def members_of(data: bytes | msgspec.Raw) -> dict[str, msgspec.Raw] | None:
    """The members of an object, each as the bytes it is written in; None for anything else.

    Of a doubled key the last member stands.
    """
    try:
        return _MEMBERS.decode(data)
    except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
        return None


def same_tree(one: Tree, other: Tree) -> bool:
    """Tell whether two values are equal as JSON: true is not 1, 50.0 is 50."""
    if isinstance(one, dict):
        return (
            isinstance(other, dict)
            and one.keys() == other.keys()
            and all(same_tree(value, other[key]) for key, value in one.items())
        )
    if isinstance(one, list):
        return (
            isinstance(other, list) and len(one) == len(other) and all(map(same_tree, one, other))
        )
    return isinstance(one, bool) == isinstance(other, bool) and bool(one == other)


def without_trailing_zeros(number: Decimal) -> Decimal:
    """Return the same number with the shortest digits; nothing is rounded, however long it is."""
    return _EXACT.normalize(number)
