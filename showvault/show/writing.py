"""One byte sequence for one show: canonical writing, and the JSON Schema of the format.

- Fields stand in the model's order, ``extra`` last; numbered things in the order of their numbers;
  all other keys by code point. Order of lists is kept.
- Numbers are decimals in their shortest form: 50.0 is 50, -0 is 0. What is smaller than a
  millionth, which only ``extra`` can hold, has an exponent.
- An empty collection is the same as an absent one and is not written, except where the format
  gives it a meaning: ``slots``, and things under a number, which exist though they hold nothing.
- Text is UTF-8; two spaces of indent; one line feed at the end.

Two shows are equal exactly when their canonical bytes are.
"""

from decimal import Decimal
from typing import Any

import msgspec
from msgspec import inspect

from showvault.show.addressing import cue_order, place_order
from showvault.show.model import Show
from showvault.show.trees import Tree, parse_part, without_trailing_zeros
from showvault.show.types import bare, type_of

_LONGEST_WHOLE = 300
"""Up to so many digits a whole number is written out; longer ones are faults."""

_PLAIN_WHOLE = 10**6
"""Below it a whole number is surely written with its fewest digits."""

_WRITE = msgspec.json.Encoder(decimal_format="number")


def write_show(tree: Tree) -> bytes:
    """Return the canonical bytes of a show given as plain values (see trees).

    Raises ValueError for NaN and infinities.
    """
    return msgspec.json.format(_WRITE.encode(canonical_tree(tree, Show)), indent=2) + b"\n"


def show_as_tree(show: Show) -> Tree:
    """Return a decoded show as plain values with exact decimals."""
    return parse_part(msgspec.json.encode(show))


def canonical_tree(tree: Tree, model: Any) -> Tree:
    """Return plain values in canonical order, numbers and emptiness; ``model`` is their type."""
    return _in_order(tree, type_of(model))


def show_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of the neutral show, generated from the model.

    What it cannot say is said by reading alone: no key twice, the places a decimal may
    have, and no number that a double cannot hold.
    """
    schema = msgspec.json.schema(Show)
    schema["$defs"]["StoredValue"]["oneOf"] = [
        {"required": [kind]} for kind in ("level", "preset", "release")
    ]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Neutral show",
        **schema,
    }


def _in_order(value: Tree, kind: inspect.Type, keys: str = "") -> Tree:
    if not isinstance(value, dict | list):
        return _plain(value)  # most of a show: the type of a leaf says nothing of its order
    match kind:
        case inspect.Metadata():
            return _in_order(value, kind.type, (kind.extra or {}).get("keys", ""))
        case inspect.UnionType():
            return _in_order(value, _meant(kind), _keys_of(value, kind))
        case inspect.StructType() if isinstance(value, dict):
            return _object_in_order(value, kind)
        case inspect.DictType() if isinstance(value, dict):
            order = cue_order if keys == "cue" else place_order
            names = sorted(value, key=order) if keys else sorted(value)
            return {
                name: member
                for name in names
                if (member := _in_order(value[name], kind.value_type)) != {}
                or _exists(kind.value_type)
            }
        case inspect.ListType() if isinstance(value, list):
            return [_in_order(item, kind.item_type) for item in value]
        case _:
            return _plain(value)


def _object_in_order(value: dict[str, Tree], kind: inspect.StructType) -> Tree:
    fields = {field.encode_name: field for field in kind.fields if field.encode_name != "extra"}
    known = [name for name in fields if name in value]
    strange = sorted(name for name in value if name not in fields and name != "extra")
    ordered = {}
    for name in known:
        member = _in_order(value[name], fields[name].type)
        if member not in ({}, []) or fields[name].required:
            ordered[name] = member
    ordered |= {name: _plain(value[name]) for name in strange}
    if "extra" in value:
        ordered["extra"] = _plain(value["extra"])
    return ordered


def _meant(kind: inspect.UnionType) -> inspect.Type:
    """Return the one type of a union that an object can be; no union holds lists."""
    objects = inspect.StructType | inspect.DictType
    return next(
        (meant for meant in map(bare, kind.types) if isinstance(meant, objects)),
        inspect.AnyType(),
    )


def _keys_of(value: Tree, kind: inspect.UnionType) -> str:
    for choice in kind.types:
        if isinstance(value, dict) and isinstance(choice, inspect.Metadata):
            return str((choice.extra or {}).get("keys", ""))
    return ""


def _exists(kind: inspect.Type) -> bool:
    """Tell whether something of this type is a thing of its own, even when it is empty."""
    return isinstance(bare(kind), inspect.StructType)


def _plain(value: Tree) -> Tree:
    if type(value) is int and -_PLAIN_WHOLE < value < _PLAIN_WHOLE:
        return value
    match value:
        case Decimal():
            return _shortest(value)
        case float():
            return _shortest(Decimal(repr(value)))
        case dict():
            return {key: _plain(value[key]) for key in sorted(value)}
        case list():
            return [_plain(item) for item in value]
        case int() if abs(value) >= 10**_LONGEST_WHOLE:
            return _shortest(Decimal(value))
        case _:
            return value


def _shortest(number: Decimal) -> int | Decimal:
    """Return the number with the fewest digits: 5E+1 is 50, 0.50 is 0.5."""
    if not number.is_finite():
        raise ValueError(f"{number} cannot be written as JSON")
    if number == 0:
        return 0
    number = without_trailing_zeros(number)
    digits, exponent = number.as_tuple()[1:]
    if isinstance(exponent, int) and 0 <= exponent <= _LONGEST_WHOLE - len(digits):
        return int(number)
    return number
