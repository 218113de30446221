"""The types of the model, as checking and writing walk along them."""

from functools import cache
from typing import Any

from msgspec import inspect


@cache
def type_of(model: Any) -> inspect.Type:
    """Return what a model, or a field's annotation, says of its values."""
    return inspect.type_info(model)


def bare(kind: inspect.Type) -> inspect.Type:
    """Return a type without the notes that stand around it."""
    return bare(kind.type) if isinstance(kind, inspect.Metadata) else kind
