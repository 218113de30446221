"""What a review tells as JSON, beside the ``changes`` of a comparison.

``on_stage`` and ``plays`` have one row each for what looks and plays differently; times are in
seconds, rates in flashes a second, and null is what is not there (for a rate: not known).
"""

from collections.abc import Sequence
from typing import Any

from msgspec import UNSET

from showvault.look.levels import seconds_as_json
from showvault.review.flashes import Flashing, Rate
from showvault.review.level_folding import Sentence
from showvault.review.plays import Play
from showvault.review.review import Review
from showvault.review.stage_json import on_stage_as_json
from showvault.review.watching import Watch, watch_first
from showvault.show.addressing import Thing, place_order


def review_as_json(review: Review, sentences: Sequence[Sentence] = ()) -> dict[str, Any]:
    """Return ``on_stage``, ``plays``, ``sentences`` and what a reviewer is warned of.

    ``effect_kinds`` has one word a change, in the order of ``changes``: looks, plays or neither.
    ``sentences`` name the changes that they stand for by their number in ``changes``, from 0.
    """
    return {
        "on_stage": [
            {**row, "lit": sorted(review.lit_in(effect.cue), key=place_order)}
            for row, effect in zip(on_stage_as_json(review.effects), review.effects, strict=True)
        ],
        "plays": [_play(play) for play in review.plays],
        "effect_kinds": list(review.kinds),
        "sentences": [
            {"text": one.text, "kind": one.kind, "changes": list(one.changes)} for one in sentences
        ],
        "watch_first": [_watch(watch) for watch in watch_first(review)],
        "live_moves": [
            {
                **_cue(move.cue),
                "fixture": move.fixture,
                "attributes": list(move.attributes),
                "before": move.before,
            }
            for move in review.live_moves
        ],
        "light": [
            {**_cue(change.cue), "lost": list(change.lost), "lit": list(change.lit)}
            for change in review.light
        ],
        "flashing": [_flashing(flashing) for flashing in review.flashing],
        "hazards": {hazard: list(fixtures) for hazard, fixtures in review.hazards.items()},
    }


def _watch(watch: Watch) -> dict[str, Any]:
    return {
        "list": watch.cues[0].list,
        "cues": [cue.id for cue in watch.cues],
        "scene": watch.scene,
        "fixtures": list(watch.fixtures),
        "share": round(watch.share, 3),
        "text": watch.text,
    }


def _play(play: Play) -> dict[str, Any]:
    row: dict[str, Any] = {**_named(play.thing), "field": play.field}
    if play.part:
        row["part"] = play.part
    if play.level is not None:
        row["fixture"], row["attribute"] = play.level
    row["before"] = None if play.before is UNSET else play.before
    row["after"] = None if play.after is UNSET else play.after
    kind = "edited" if play.source == play.thing else play.source.kind
    row["because"] = [{"kind": kind, **_named(play.source)}]
    if play.chain is not None:
        row["chain"] = {
            "before": seconds_as_json(play.chain.before),
            "after": seconds_as_json(play.chain.after),
        }
    return row


def _flashing(flashing: Flashing) -> dict[str, Any]:
    row: dict[str, Any] = {
        **_cue(flashing.cue),
        "by": flashing.by,
        "fixtures": list(flashing.fixtures),
        "before": _rate(flashing.before),
        "after": _rate(flashing.after),
    }
    return {**row, "effect": flashing.effect} if flashing.effect else row


def _rate(rate: Rate) -> int | float | None:
    if rate is None:
        return None
    return int(rate) if rate.denominator == 1 else round(float(rate), 3)


def _cue(cue: Thing) -> dict[str, str]:
    return {"list": cue.list, "cue": cue.id}


def _named(thing: Thing) -> dict[str, str]:
    match thing.kind:
        case "cue":
            return _cue(thing)
        case "cue_list":
            return {"list": thing.id}
        case kind:
            return {kind: thing.id}
