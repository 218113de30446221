"""The types of the model, as checking and writing walk along them."""

from functools import cache
from typing import Any, cast

from msgspec import inspect


@cache
def type_of(model: Any) -> inspect.Type:
    """Return what a model, or a field's annotation, says of its values."""
    return inspect.type_info(model)


def struct_of(model: Any) -> inspect.StructType:
    """Return the same of a model that has fields, as each of a show's things has."""
    return cast(inspect.StructType, type_of(model))


def bare(kind: inspect.Type) -> inspect.Type:
    """Return a type without the notes that stand around it."""
    return bare(kind.type) if isinstance(kind, inspect.Metadata) else kind
