"""Every way in which a document breaks the rules of the neutral show, each with its place.

The rules are read off the model: this module knows how to hold a value against a type, not what
the types are. A fault never stops at the first and never stops a snapshot.
"""

import re
from collections.abc import Iterator, Sequence
from decimal import Decimal
from functools import cache
from typing import Any

import msgspec
from msgspec import inspect

from showvault.show.addressing import KEY_PATTERNS
from showvault.show.model import StoredValue
from showvault.show.places import pointer_to, say_pointer
from showvault.show.trees import Doubled, NonFinite, Tree, without_trailing_zeros
from showvault.show.types import bare, struct_of, type_of

_FORMS = {
    "cue": "a cue number in its shortest form, such as 12 or 12.5, with at most three places",
    "place": "a number or page.slot in its shortest form, such as 7 or 1.3",
    "fixture": "a whole fixture number from 1 on",
    "fixture or cell": "a fixture number from 1 on, or fixture.cell",
    "number": "a whole number from 1 on",
}
_ENTRY = "an entry with named values"
_FIELDS_NAMED = 4
_PATTERN_WORDS = {pattern: _FORMS[form] for form, pattern in KEY_PATTERNS.items()}


class Fault(msgspec.Struct, frozen=True):
    """One broken rule; the place in trade words, the pointer as in RFC 6901."""

    place: str
    pointer: str
    found: str
    expected: str
    text: str


def find_faults_in(tree: Tree, model: type, at: Sequence[str] = ()) -> list[Fault]:
    """Hold a value against a model; return all faults, in the order of the document.

    ``at`` is the path at which the value stands in its show.
    """
    return list(_faults(tree, type_of(model), tuple(at)))


_Tokens = tuple[str, ...]


def _faults(value: Tree, kind: inspect.Type, at: _Tokens) -> Iterator[Fault]:
    match kind:
        case inspect.Metadata():
            yield from _faults_of_noted(value, kind, at)
        case inspect.StructType():
            yield from _faults_of_object(value, kind, at)
        case inspect.DictType():
            yield from _faults_of_map(value, kind, at)
        case inspect.ListType():
            if not isinstance(value, list):
                yield _wrong(value, "a list", at)
                return
            for index, item in enumerate(value):
                yield from _faults(item, kind.item_type, (*at, str(index)))
        case inspect.TupleType():
            yield from _faults_of_pair(value, kind, at)
        case inspect.UnionType():
            yield from _faults_of_choice(value, kind, at)
        case inspect.AnyType():
            yield from _faults_of_anything(value, at)
        case _:
            yield from _faults_of_leaf(value, kind, at)


def _faults_of_noted(value: Tree, kind: inspect.Metadata, at: _Tokens) -> Iterator[Fault]:
    notes = kind.extra or {}
    yield from _faults(value, kind.type, at)
    if "keys" in notes and isinstance(value, dict):
        pattern = re.compile(KEY_PATTERNS[notes["keys"]])
        for key in value:
            if not pattern.fullmatch(key):
                yield _fault((*at, key), _say(key), _FORMS[notes["keys"]])
    if "places" in notes and isinstance(value, Decimal) and value.is_finite():
        exponent = without_trailing_zeros(value).as_tuple().exponent
        if isinstance(exponent, int) and -exponent > notes["places"]:
            yield _wrong(value, f"at most {notes['places']} decimal places", at)


def _faults_of_object(value: Tree, kind: inspect.StructType, at: _Tokens) -> Iterator[Fault]:
    if not isinstance(value, dict):
        yield _wrong(value, _ENTRY, at)
        return
    yield from _faults_of_doubles(value, at)
    fields, required = _fields_of(kind.cls)
    for name in required:
        if name not in value:
            yield _fault((*at, name), "nothing", f"{name} (it is required)")
    for name, member in value.items():
        if name not in fields:
            known = ", ".join(sorted(fields))
            yield _fault((*at, name), f"the unknown key {_say(name)}", f"one of {known}")
        else:
            yield from _faults(member, fields[name].type, (*at, name))
    if kind.cls is StoredValue and sum(key in value for key in ("level", "preset", "release")) != 1:
        yield _wrong(value, "exactly one of level, preset and release", at)


@cache
def _fields_of(model: type) -> tuple[dict[str, inspect.Field], list[str]]:
    """The fields of a model by the names they have in a file, and the names that it requires."""
    fields = {field.encode_name: field for field in struct_of(model).fields}
    return fields, [name for name, field in fields.items() if field.required]


def _faults_of_map(value: Tree, kind: inspect.DictType, at: _Tokens) -> Iterator[Fault]:
    if not isinstance(value, dict):
        yield _wrong(value, _ENTRY, at)
        return
    yield from _faults_of_doubles(value, at)
    may_be_empty = _may_be_empty(kind.value_type)
    for key, member in value.items():
        if isinstance(kind.key_type, inspect.LiteralType) and key not in kind.key_type.values:
            choices = ", ".join(map(str, kind.key_type.values))
            yield _fault((*at, key), _say(key), f"one of {choices}")
        elif _has_surrogate(key):
            yield _fault((*at, key), _say(key), "text without lone surrogates")
        if not (may_be_empty and member == {}):  # an outline has thousands of these
            yield from _faults(member, kind.value_type, (*at, key))


def _may_be_empty(kind: inspect.Type) -> bool:
    kind = bare(kind)
    if not isinstance(kind, inspect.StructType) or kind.cls is StoredValue:
        return False
    return not _fields_of(kind.cls)[1]


def _faults_of_pair(value: Tree, kind: inspect.TupleType, at: _Tokens) -> Iterator[Fault]:
    if not isinstance(value, list) or len(value) != len(kind.item_types):
        yield _wrong(value, f"a list of {len(kind.item_types)} numbers", at)
        return
    for index, (item, item_type) in enumerate(zip(value, kind.item_types, strict=True)):
        yield from _faults(item, item_type, (*at, str(index)))


def _faults_of_choice(value: Tree, kind: inspect.UnionType, at: _Tokens) -> Iterator[Fault]:
    """Hold the value against the one type of the union that it was meant to be."""
    meant = [choice for choice in kind.types if _looks_like(value, bare(choice))]
    if meant:
        yield from _faults(value, meant[0], at)
    else:
        yield _wrong(value, " or ".join(_name(bare(choice)) for choice in kind.types), at)


def _faults_of_anything(value: Tree, at: _Tokens) -> Iterator[Fault]:
    match value:
        case dict():
            yield from _faults_of_doubles(value, at)
            for key, member in value.items():
                yield from _faults_of_anything(member, (*at, key))
        case list():
            for index, item in enumerate(value):
                yield from _faults_of_anything(item, (*at, str(index)))
        case NonFinite():
            yield _wrong(value, "a number, text, true, false, a list or an entry", at)
        case str() if _has_surrogate(value):
            yield _wrong(value, "text without lone surrogates", at)
        case int() | Decimal() if _is_beyond_a_double(Decimal(value)):
            yield _wrong(value, "a number of at most 300 digits", at)


def _faults_of_leaf(value: Tree, kind: inspect.Type, at: _Tokens) -> Iterator[Fault]:
    match kind:
        case inspect.FloatType() | inspect.IntType():
            yield from _faults_of_number(value, kind, at)
        case inspect.StrType():
            if not isinstance(value, str):
                yield _wrong(value, "text", at)
            elif _has_surrogate(value):
                yield _wrong(value, "text without lone surrogates", at)
            elif kind.pattern is not None and not re.fullmatch(kind.pattern, value):
                yield _wrong(value, _say_pattern(kind.pattern), at)
        case inspect.BoolType():
            if not isinstance(value, bool):
                yield _wrong(value, "true or false", at)
        case inspect.LiteralType():
            if not any(value == choice and type(value) is type(choice) for choice in kind.values):
                choices = " or ".join(_say(choice) for choice in kind.values)
                yield _wrong(value, choices, at)


def _faults_of_number(
    value: Tree, kind: inspect.FloatType | inspect.IntType, at: _Tokens
) -> Iterator[Fault]:
    whole = isinstance(kind, inspect.IntType)
    expected = _say_range(kind, "a whole number" if whole else "a number")
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        yield _wrong(value, expected, at)
        return
    number, low, high = Decimal(value), kind.ge, kind.le
    too_small = low is not None and number < Decimal(low)
    too_large = high is not None and number > Decimal(high)
    if (
        too_small
        or too_large
        or _is_beyond_a_double(number)
        or (whole and not isinstance(value, int))
    ):
        yield _wrong(value, expected, at)


def _is_beyond_a_double(number: Decimal) -> bool:
    return bool(number) and number.adjusted() > 300


def _faults_of_doubles(value: dict[str, Tree], at: _Tokens) -> Iterator[Fault]:
    if isinstance(value, Doubled):
        for key in value.twice:
            yield _fault((*at, key), f"{_say(key)} more than once", "each key once")


def _looks_like(value: Tree, kind: inspect.Type) -> bool:
    match kind:
        case inspect.FloatType() | inspect.IntType():
            return isinstance(value, int | Decimal) and not isinstance(value, bool)
        case inspect.StrType():
            return isinstance(value, str)
        case _:
            return isinstance(value, dict)


def _name(kind: inspect.Type) -> str:
    match kind:
        case inspect.FloatType():
            return _say_range(kind, "a number")
        case inspect.IntType():
            return _say_range(kind, "a whole number")
        case inspect.StrType():
            return "text"
        case _:
            return _ENTRY


def _say_range(kind: inspect.FloatType | inspect.IntType, noun: str) -> str:
    match kind.ge, kind.le:
        case None, None:
            return noun
        case low, None:
            return f"{noun}, {low:g} or more"
        case low, high:
            return f"{noun} from {low:g} to {high:g}"


def _say_pattern(pattern: str) -> str:
    if pattern in _PATTERN_WORDS:
        return _PATTERN_WORDS[pattern]
    if "64" in pattern:
        return "a SHA-256 as 64 hexadecimal digits"
    return "a feature group and a place, such as Color 1.3"


def _has_surrogate(text: str) -> bool:
    return not text.isascii() and any("\ud800" <= char <= "\udfff" for char in text)


def _wrong(value: Tree, expected: str, at: _Tokens) -> Fault:
    return _fault(at, _say(value), expected)


def _fault(at: Sequence[str], found: str, expected: str) -> Fault:
    place, pointer, found = map(_printable, (say_pointer(at), pointer_to(at), found))
    return Fault(place, pointer, found, expected, f"{place}: found {found}, expected {expected}")


def _printable(text: str) -> str:
    """Spell out lone surrogates, which no file and no screen can take."""
    return text.encode("utf-8", "backslashreplace").decode()


def _say_entry(entry: dict[str, Any]) -> str:
    """Say what an entry holds: "level and preset"."""
    names = [str(name).replace("_", " ") for name in entry][:_FIELDS_NAMED]
    if not names or len(names) < len(entry):
        return f"an entry with {len(entry)} values" if names else "an empty entry"
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _say(value: Any) -> str:
    match value:
        case NonFinite():
            return value.text
        case None:
            return "null"
        case bool():
            return "true" if value else "false"
        case str():
            return '"' + (value if len(value) <= 40 else value[:39] + "…") + '"'
        case list():
            return f"a list of {len(value)}"
        case dict():
            return _say_entry(value)
        case _:
            text = str(value)
            return text if len(text) <= 40 else f"{text[:20]}… ({len(text)} characters)"
