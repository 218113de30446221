"""What changed between two saves: one line, and the sentences behind it."""

from collections import Counter
from itertools import accumulate

from showvault.compare.changes import Comparison
from showvault.show.addressing import KINDS
from showvault.show.parts import ShowParts
from showvault.show.reading import NotUnderstoodError

MOST_PARTS = 2000
MOST_BYTES = 1_500_000
"""Up to so much is a show looked at on stage before it is kept; a larger one is compared alone."""

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

    comparison = compare_shows(before, after)
    if not comparison.changes or not _is_small(before, after):
        return describe(comparison)
    try:
        return _describe_on_stage(before, after, comparison)
    except NotUnderstoodError:
        return describe(comparison)


def _describe_on_stage(before: ShowParts, after: ShowParts, comparison: Comparison) -> str:
    from showvault.review.message import describe_review
    from showvault.review.review import review_shows
    from showvault.review.scales import scales_of
    from showvault.show.assembling import decode_parts

    review = review_shows(decode_parts(before), decode_parts(after), comparison)
    return describe_review(review, scales_of(after))


def _is_small(before: ShowParts, after: ShowParts) -> bool:
    """Tell whether both shows can be read whole while somebody waits for "kept"."""
    if max(len(before.parts), len(after.parts)) > MOST_PARTS:
        return False
    sizes = accumulate(len(part.data) for part in after.parts.values())
    return all(size <= MOST_BYTES for size in sizes)  # read no further than that


def count_things(show: ShowParts) -> str:
    """Count what a show holds: "120 cues, 64 fixtures, 31 presets"."""
    counts = Counter(thing.kind for thing in show.parts)
    told = [
        f"{counts[kind]} {_PLURALS[kind] if counts[kind] != 1 else kind.replace('_', ' ')}"
        for kind in ("cue", "fixture", "preset", "group", *KINDS)
        if counts[kind] and kind in _PLURALS
    ]
    return ", ".join(dict.fromkeys(told)) or "an empty show"
