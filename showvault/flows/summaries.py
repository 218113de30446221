"""What changed between two saves: one line, and the sentences behind it."""

from collections import Counter

from showvault.show.addressing import KINDS
from showvault.show.parts import ShowParts

_PLURALS = {
    "cue": "cues",
    "fixture": "fixtures",
    "preset": "presets",
    "group": "groups",
    "effect": "effects",
    "macro": "macros",
    "submaster": "submasters",
    "playback": "playbacks",
    "curve": "curves",
    "fixture_type": "fixture types",
}


def describe_sides(before: ShowParts | None, after: ShowParts) -> str:
    """Say what changed: a line that stands alone, then a sentence a line.

    Of a first version it says what the show holds.
    """
    if before is None:
        return f"first version: {count_things(after)}"
    from showvault.compare.differ import compare_shows
    from showvault.review.summary import describe

    return describe(compare_shows(before, after))


def count_things(show: ShowParts) -> str:
    """Count what a show holds: "120 cues, 64 fixtures, 31 presets"."""
    counts = Counter(thing.kind for thing in show.parts)
    told = [
        f"{counts[kind]} {_PLURALS[kind] if counts[kind] != 1 else kind.replace('_', ' ')}"
        for kind in ("cue", "fixture", "preset", "group", *KINDS)
        if counts[kind] and kind in _PLURALS
    ]
    return ", ".join(dict.fromkeys(told)) or "an empty show"
