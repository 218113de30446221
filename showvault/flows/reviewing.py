"""A comparison with what it means on stage, as far as both shows are understood."""

from dataclasses import dataclass, replace

from showvault.compare.changes import Comparison
from showvault.errors import ShowvaultError
from showvault.flows.narrowing import Narrowing
from showvault.review.folding import fold
from showvault.review.level_folding import Sentence
from showvault.review.review import Review, called_differently, review_shows
from showvault.review.scales import scales_of
from showvault.review.summary import fold_changes
from showvault.review.values import Scales
from showvault.show.addressing import Thing, cue_order
from showvault.show.asking import read_asking
from showvault.show.assembling import decode_parts
from showvault.show.parts import ShowParts


@dataclass(frozen=True)
class Told:
    """What a reviewer is told of two shows."""

    comparison: Comparison
    sentences: tuple[Sentence, ...]
    """Every change is in exactly one, by its number in the comparison."""
    review: Review | None
    """None where a show is not understood: what it puts on stage is then not known."""
    not_reviewed: str = ""
    """Why there is no review."""


def tell(
    whole: Comparison,
    comparison: Comparison,
    before: ShowParts,
    after: ShowParts,
    narrowing: Narrowing,
) -> Told:
    """Review two shows and fold what was asked for, ``comparison``, out of the ``whole``."""
    if not comparison.changes and not (whole.changes and narrowing.by_cues_alone):
        return Told(comparison, (), None)
    scales = scales_of(after)
    try:
        review = review_shows(
            decode_parts(before, "the older show"), decode_parts(after, "the newer show"), whole
        )
    except ShowvaultError as error:
        return Told(comparison, _folded_plainly(comparison, scales), None, str(error))
    review = _narrow(review, comparison, narrowing)
    return Told(comparison, tuple(fold(review, scales)), review)


def called_alone(comparison: Comparison) -> Comparison:
    """Return only what a stage manager calls differently."""
    return replace(comparison, changes=tuple(called_differently(comparison)))


def _narrow(review: Review, comparison: Comparison, narrowing: Narrowing) -> Review:
    told = zip(review.comparison.changes, review.kinds, strict=True)
    kind_of = {id(change): kind for change, kind in told}
    return replace(
        review,
        comparison=comparison,
        kinds=tuple(kind_of[id(change)] for change in comparison.changes),
        effects=tuple(one for one in review.effects if _wanted(one.cue, narrowing)),
        plays=tuple(one for one in review.plays if _wanted(one.thing, narrowing)),
        live_moves=tuple(one for one in review.live_moves if _wanted(one.cue, narrowing)),
        sights=tuple(one for one in review.sights if _wanted(one.cue, narrowing)),
        flashing=tuple(one for one in review.flashing if _wanted(one.cue, narrowing)),
    )


def _wanted(thing: Thing, narrowing: Narrowing) -> bool:
    """Tell whether a thing is in the cues that were asked for; what is no cue always is."""
    if thing.kind != "cue":
        return not (narrowing.cues or narrowing.lists)
    if narrowing.cues:
        asked = read_asking(f"cues {narrowing.cues}")
        cue_list = narrowing.lists[0] if narrowing.lists else "1"
        inside = any(
            cue_order(first) <= cue_order(thing.id) <= cue_order(last)
            for first, last in asked.spans
        )
        return thing.list == cue_list and inside
    return not narrowing.lists or thing.list in narrowing.lists


def _folded_plainly(comparison: Comparison, scales: Scales) -> tuple[Sentence, ...]:
    number = {id(change): index for index, change in enumerate(comparison.changes)}
    return tuple(
        Sentence(text, tuple(sorted(number[id(one)] for one in told)), "neither", told[0].thing)
        for text, told in fold_changes(comparison, scales)
    )
