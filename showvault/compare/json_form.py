"""A comparison as JSON, for other programs; complete: every change with its before and after.

- A changed value has ``fixture`` and ``attribute`` where it is a stored level, else ``field``: the
  path inside the thing with dots; ``part`` where it is in a part of a cue.
- What was exchanged with it, as a fixture's mode with its type, is ``along``: changed values too.
- ``pointer`` (RFC 6901) is the place in the new show, for what is gone in the old one.
- null stands for what is not there; the format itself has no null.
- A moved thing has ``followed``: the references that moved along, as changes of the same form, or
  with ``key_before`` and ``key_after`` where the reference is the key of an object at ``pointer``;
  and ``stayed``: those that still name the old number. Neighbours that moved together share a
  ``run``.
- To go from old to new: take out what was removed and what moved, put in what moved, was added or
  copied; rename the followed keys, set the followed values, then set the changed ones
  and what changed along with them.
"""

from collections.abc import Callable
from typing import Any

from showvault.compare.changes import (
    Added,
    Change,
    Changed,
    Comparison,
    Copied,
    Moved,
    Path,
    Rekeyed,
    Removed,
    Stayed,
    is_set,
)
from showvault.show.addressing import KINDS, Thing
from showvault.show.places import path_to, pointer_to
from showvault.show.trees import Tree

Say = Callable[[Change], str]
"""Says one change as a sentence."""


def comparison_as_json(comparison: Comparison, say: Say) -> dict[str, Any]:
    """Return ``changes`` (and ``left_out``) as JSON values; the caller adds ``old`` and ``new``.

    Numbers stay exact: they are int or Decimal, to be written with decimal_format "number".
    """
    return {
        "changes": [change_as_json(change, say) for change in comparison.changes],
        "left_out": list(comparison.left_out),
    }


def change_as_json(change: Change, say: Say) -> dict[str, Any]:
    """Return one change as JSON values, its sentence as ``text``."""
    match change:
        case Added(thing, after):
            inner = {"change": "added", "after": after}
        case Removed(thing, before):
            inner = {"change": "removed", "before": before}
        case Changed(thing):
            inner = {"change": "changed", **_value(change)}
        case Copied(thing, from_, after):
            inner = {"change": "copied", **_origin(from_), "after": after}
        case Moved(thing):
            inner = {"change": "moved", **_moved(change)}
    pointer = {} if isinstance(change, Changed) else {"pointer": pointer_to(path_to(thing))}
    return {**_names(thing), **inner, **pointer, "text": say(change)}


def _names(thing: Thing) -> dict[str, Any]:
    named = {"object": thing.kind, "id": thing.id}
    return {**named, "list": thing.list} if thing.kind == "cue" else named


def _origin(from_: Thing) -> dict[str, Any]:
    return {"from": from_.id, **({"from_list": from_.list} if from_.kind == "cue" else {})}


def _value(change: Changed) -> dict[str, Any]:
    value = {
        **_place(change.thing, change.path),
        "before": _or_null(change.before),
        "after": _or_null(change.after),
    }
    return {**value, "along": list(map(_value, change.along))} if change.along else value


def _place(thing: Thing, path: Path) -> dict[str, Any]:
    named = Changed(thing, path, None, None)
    where: dict[str, Any] = {"part": named.part} if named.part else {}
    if named.level is None:
        where["field"] = named.field
    else:
        where["fixture"], where["attribute"] = named.level
    return {**where, "pointer": pointer_to((*path_to(thing), *path))}


def _moved(change: Moved) -> dict[str, Any]:
    moved = {
        **_origin(change.from_),
        "followed": [_follower(follower) for follower in change.followed],
        "stayed": [_stayed(stayed) for stayed in change.stayed],
    }
    return moved if change.run is None else {**moved, "run": change.run}


def _follower(follower: Changed | Rekeyed) -> dict[str, Any]:
    match follower:
        case Changed(thing):
            return {**_names(thing), **_value(follower)}
        case Rekeyed(thing, path, before, after):
            keys = {"key_before": before, "key_after": after}
            return {**_names(thing), **_place(thing, path), **keys}


def _stayed(stayed: Stayed) -> dict[str, Any]:
    return {**_names(stayed.thing), **_place(stayed.thing, stayed.path)}


def _or_null(value: Tree) -> Tree:
    return value if is_set(value) else None


def comparison_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a comparison; more keys may come, these stay."""
    kinds = [
        _change("added", {"after": {}}),
        _change("removed", {"before": {}}),
        {
            **_change("changed", {"before": {}, "after": {}}, {**_WHERE, "along": _ALONG}),
            "anyOf": _PLACED,
        },
        _change("copied", {"from": _TEXT, "after": {}}, {"from_list": _TEXT}),
        _change(
            "moved",
            {"from": _TEXT, "followed": _REFERENCES, "stayed": _REFERENCES},
            {"from_list": _TEXT, "run": {"type": "integer", "minimum": 1}},
        ),
    ]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Comparison of two shows",
        "type": "object",
        "required": ["old", "new", "changes"],
        "properties": {
            "old": {"description": "The older show or version."},
            "new": {"description": "The newer show or version."},
            "changes": {"type": "array", "items": {"oneOf": kinds}},
            "left_out": {
                "description": "Fields that differ and are left out of this vault's comparisons.",
                "type": "array",
                "items": _TEXT,
            },
        },
        "$defs": {"reference": _REFERENCE},
    }


_TEXT = {"type": "string"}
_NAMED = {"object": {"enum": list(KINDS)}, "id": _TEXT, "list": _TEXT}
_LIST_OF_A_CUE = {
    "if": {"properties": {"object": {"const": "cue"}}},
    "then": {"required": ["list"]},
}
_WHERE = {"field": _TEXT, "fixture": _TEXT, "attribute": _TEXT, "part": _TEXT}
_PLACED = [{"required": ["field"]}, {"required": ["fixture", "attribute"]}]
_REFERENCE = {
    "description": "A place that names a moved thing.",
    "type": "object",
    "required": ["object", "id", "pointer"],
    "properties": {
        **_NAMED,
        **_WHERE,
        "pointer": _TEXT,
        "before": {},
        "after": {},
        "key_before": _TEXT,
        "key_after": _TEXT,
    },
    "anyOf": _PLACED,
}
_ALONG = {
    "description": "Fields that were exchanged with this one: a fixture's mode with its type.",
    "type": "array",
    "items": {
        "type": "object",
        "required": ["field", "pointer", "before", "after"],
        "properties": {"field": _TEXT, "pointer": _TEXT, "before": {}, "after": {}},
    },
}
_REFERENCES = {"type": "array", "items": {"$ref": "#/$defs/reference"}}


def _change(
    name: str, required: dict[str, Any], optional: dict[str, Any] | None = None
) -> dict[str, Any]:
    return {
        "type": "object",
        "required": ["object", "id", "change", "pointer", "text", *required],
        "properties": {
            **_NAMED,
            "change": {"const": name},
            "pointer": {"type": "string", "format": "json-pointer"},
            "text": _TEXT,
            **required,
            **(optional or {}),
        },
        **_LIST_OF_A_CUE,
    }
