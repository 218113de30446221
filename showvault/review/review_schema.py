"""The JSON Schema of a comparison with what it means on stage."""

from typing import Any, get_args

from showvault.compare.json_form import comparison_schema
from showvault.review.kinds import EffectKind
from showvault.show.model import Hazard

_TEXT = {"type": "string"}
_TEXTS = {"type": "array", "items": _TEXT}
_PERCENT = {"type": ["number", "null"], "minimum": 0, "maximum": 100}
_RATE = {"type": ["number", "null"], "description": "Flashes a second; null where not known."}
_CUE = {"list": _TEXT, "cue": _TEXT}
_CAUSES = ("edited", "tracks", "preset", "cue_removed", "cue_added", "cue_moved", "type")
_KINDS = list(get_args(EffectKind))


def review_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a comparison with its review; more keys may come."""
    schema = comparison_schema()
    return {**schema, "properties": {**schema["properties"], **_SECTIONS}}


def _rows(required: dict[str, Any], optional: dict[str, Any] | None = None) -> dict[str, Any]:
    return {
        "type": "array",
        "items": {
            "type": "object",
            "required": list(required),
            "properties": {**required, **(optional or {})},
        },
    }


_PARAMETER = {"fixture": _TEXT, "attribute": _TEXT}
_SOURCE = {
    **_CUE,
    **dict.fromkeys(("preset", "fixture", "fixture_type", "effect", "from"), _TEXT),
}
_PLAYED = {**_CUE, **dict.fromkeys(("playback", "submaster", "macro"), _TEXT)}
_REACH = {"first": _TEXT, "last": _TEXT, "stops_at": {"type": ["string", "null"]}}
_BECAUSE = _rows(
    {"kind": {"enum": list(_CAUSES)}, "parameters": _rows(_PARAMETER)}, {**_SOURCE, **_REACH}
)
_SECONDS = {"type": "number", "minimum": 0}
_SECTIONS: dict[str, Any] = {
    "on_stage": {
        "description": "One row a cue whose picture differs; levels in percent.",
        **_rows(
            {
                **_CUE,
                "parameters": _rows({**_PARAMETER, "before": _PERCENT, "after": _PERCENT}),
                "because": _BECAUSE,
                "lit": _TEXTS,
            }
        ),
    },
    "plays": {
        "description": "What plays differently; times in seconds.",
        **_rows(
            {
                "field": _TEXT,
                "before": {},
                "after": {},
                "because": _rows({"kind": _TEXT}, {**_SOURCE, **_PLAYED}),
            },
            {
                **_PLAYED,
                **_PARAMETER,
                "part": _TEXT,
                "chain": {
                    "description": "How long the cue and all that follows it by itself takes.",
                    "type": "object",
                    "required": ["before", "after"],
                    "properties": {"before": _SECONDS, "after": _SECONDS},
                },
            },
        ),
    },
    "effect_kinds": {
        "description": "What each of the changes does, in their order.",
        "type": "array",
        "items": {"enum": _KINDS},
    },
    "sentences": {
        "description": "Every change is in exactly one, by its number in changes from 0.",
        **_rows(
            {
                "text": _TEXT,
                "changes": {"type": "array", "items": {"type": "integer", "minimum": 0}},
            },
            {"kind": {"enum": _KINDS}},
        ),
    },
    "watch_first": _rows(
        {
            "list": _TEXT,
            "cues": _TEXTS,
            "scene": _TEXT,
            "fixtures": _TEXTS,
            "share": {"type": "number", "minimum": 0, "maximum": 1},
            "text": _TEXT,
        }
    ),
    "live_moves": _rows(
        {**_CUE, "fixture": _TEXT, "attributes": _TEXTS, "before": {"enum": ["dark", "none"]}}
    ),
    "light": _rows({**_CUE, "lost": _TEXTS, "lit": _TEXTS}),
    "flashing": _rows(
        {
            **_CUE,
            "by": {"enum": ["strobe", "effect", "chain"]},
            "fixtures": _TEXTS,
            "before": _RATE,
            "after": _RATE,
        },
        {"effect": _TEXT},
    ),
    "hazards": {
        "description": "Changed fixtures by the hazards they carry.",
        "type": "object",
        "properties": dict.fromkeys(get_args(Hazard), _TEXTS),
        "additionalProperties": False,
    },
}
