"""Which fields the things of a show can have, as paths with dots: "label", "extra.saved_at".

A path leads into one thing: a cue's label is "label", not "cue.label". ``*`` stands for any step.
"""

import difflib
from collections.abc import Iterator, Sequence

from msgspec import inspect

from showvault.errors import ShowvaultError
from showvault.show.outlines import SECTIONS
from showvault.show.types import bare, struct_of, type_of
from showvault.show.understanding import MODELS

ANY = "*"
NEAR = 3
"""How many names near to a wrong one are told."""

_THINGS_APART = frozenset({*SECTIONS, "presets", "cue_lists"})
"""Sections of a show: their things are compared by themselves, and no fields of it."""


class NoSuchFieldError(ShowvaultError):
    """A path leads to no field that anything in a show can have."""

    exit_code = 2

    def __init__(self, path: str, near: Sequence[str]) -> None:
        super().__init__(f"nothing in a show has a field {path!r}")
        self.path = path
        names = f"did you mean {' or '.join(near)}? " if near else ""
        self.hint = (
            f"{names}A field is named inside its thing, such as label, notes or extra.saved_at"
        )


def require_field(path: str) -> None:
    """Raise NoSuchFieldError where no thing of any show can have a field of this path."""
    steps = path.split(".")
    if all(steps) and any(_leads(type_of(model), steps, kind) for kind, model in MODELS.items()):
        return
    names = sorted(set(_names()))
    near = difflib.get_close_matches(steps[-1], names, NEAR) or [
        name for name in names if name in steps
    ]
    raise NoSuchFieldError(path, near)


def _leads(kind: inspect.Type, steps: Sequence[str], thing: str = "") -> bool:
    if not steps:
        return True
    step, rest = steps[0], steps[1:]
    match bare(kind):
        case inspect.StructType(fields=fields):
            return any(
                step in (ANY, field.encode_name) and _leads(field.type, rest)
                for field in fields
                if not (thing == "show" and field.encode_name in _THINGS_APART)
            )
        case inspect.DictType(key_type=inspect.LiteralType(values=values), value_type=value):
            return (step == ANY or step in values) and _leads(value, rest)
        case inspect.DictType(value_type=value):
            return _leads(value, rest)
        case inspect.ListType(item_type=item):
            return (step == ANY or step.isdecimal()) and _leads(item, rest)
        case inspect.UnionType(types=types):
            return any(_leads(one, steps) for one in types)
        case inspect.AnyType():
            return True
        case _:
            return False


def _names() -> Iterator[str]:
    for thing, model in MODELS.items():
        for field in struct_of(model).fields:
            if not (thing == "show" and field.encode_name in _THINGS_APART):
                yield field.encode_name
