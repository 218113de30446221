"""What looks different on stage as JSON, for other programs.

- ``on_stage`` has one row a cue whose picture differs: ``parameters`` with before and after in
  percent (null where the parameter is not there), and ``because``, each with its kind and source.
- ``first``, ``last`` and ``stops_at`` are how far an edit goes in its list; ``stops_at`` is null
  where it runs to the end of the list.
- ``parameters`` of a cause are the ones of this row that it explains.
"""

from collections.abc import Iterable
from typing import Any

from showvault.look.levels import ABSENT, percent_as_json
from showvault.review.causes import (
    Cause,
    CueAdded,
    CueMoved,
    CueRemoved,
    Edited,
    ThroughPreset,
    Tracks,
    TypeChanged,
)
from showvault.review.effect import Because, CueEffect
from showvault.show.addressing import Thing


def on_stage_as_json(effects: Iterable[CueEffect]) -> list[dict[str, Any]]:
    """Return ``on_stage``: one row a cue whose picture differs."""
    return [
        {
            "list": effect.cue.list,
            "cue": effect.cue.id,
            "parameters": [
                {
                    "fixture": shift.fixture,
                    "attribute": shift.attribute,
                    "before": _percent(shift.before),
                    "after": _percent(shift.after),
                }
                for shift in effect.shifts
            ],
            "because": [_because(because) for because in effect.because],
        }
        for effect in effects
    ]


def _because(because: Because) -> dict[str, Any]:
    named: dict[str, Any] = {**cause_as_json(because.cause)}
    if because.reach is not None:
        named |= because.reach._asdict()
    named["parameters"] = [
        {"fixture": fixture, "attribute": attribute} for fixture, attribute in because.parameters
    ]
    return named


def cause_as_json(cause: Cause) -> dict[str, Any]:
    """Return a cause with its kind and its source: a cue, a list, a preset, a fixture, a type."""
    match cause:
        case Edited(source):
            return {"kind": "edited", **_named(source)}
        case Tracks(source):
            return {"kind": "tracks", **_named(source)}
        case ThroughPreset(source):
            return {"kind": "preset", **_named(source)}
        case CueRemoved(source):
            return {"kind": "cue_removed", **_named(source)}
        case CueAdded(source):
            return {"kind": "cue_added", **_named(source)}
        case CueMoved(source, from_):
            return {"kind": "cue_moved", **_named(source), "from": from_.id}
        case TypeChanged(source):
            return {"kind": "type", **_named(source)}


def _named(source: Thing) -> dict[str, str]:
    match source.kind:
        case "cue":
            return {"list": source.list, "cue": source.id}
        case "cue_list":
            return {"list": source.id}
        case kind:
            return {kind: source.id}


def _percent(level: int) -> int | float | None:
    return None if level == ABSENT else percent_as_json(level)
