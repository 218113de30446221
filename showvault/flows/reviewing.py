"""A comparison with what it means on stage, as far as both shows are understood."""

from dataclasses import dataclass

from showvault.compare.changes import Comparison
from showvault.compare.noise import leave_out
from showvault.errors import ShowvaultError
from showvault.flows.narrowing import Narrowing
from showvault.review.folding import fold
from showvault.review.level_folding import Sentence
from showvault.review.narrowing import (
    narrow_to_cues,
    narrow_to_edits,
    narrow_to_fixtures,
    told_alone,
)
from showvault.review.review import Review, review_shows
from showvault.review.scales import scales_of
from showvault.review.summary import fold_changes
from showvault.review.values import Scales, no_scales
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
    others: int = 0
    """How many changes there are besides those that were asked for."""
    scales: Scales = no_scales
    """The units in which levels are said."""


def tell(
    whole: Comparison,
    comparison: Comparison,
    before: ShowParts,
    after: ShowParts,
    narrowing: Narrowing,
) -> Told:
    """Review two shows and fold what was asked for, ``comparison``, out of the ``whole``."""
    elsewhere = whole.changes and narrowing.by_places and not narrowing.by_edits
    others = len(leave_out(whole, narrowing.left_out).changes) - len(comparison.changes)
    if not comparison.changes and not elsewhere:
        return Told(comparison, (), None, others=others)
    scales = scales_of(after)
    try:
        review = review_shows(
            decode_parts(before, "the older show"), decode_parts(after, "the newer show"), whole
        )
    except ShowvaultError as error:
        return Told(
            comparison, _folded_plainly(comparison, scales), None, str(error), others, scales
        )
    review = told_alone(review, comparison)
    if narrowing.by_edits:
        review = narrow_to_edits(review)
    fixtures = narrowing.find_fixtures(before, after)
    if fixtures:
        review = narrow_to_fixtures(review, fixtures)
    # A sentence tells all that its edit does, in the cues that were asked for and in others.
    sentences = tuple(fold(review, scales))
    narrowed = narrow_to_cues(review, narrowing.wants_cue)
    return Told(comparison, sentences, narrowed, others=others, scales=scales)


def _folded_plainly(comparison: Comparison, scales: Scales) -> tuple[Sentence, ...]:
    number = {id(change): index for index, change in enumerate(comparison.changes)}
    return tuple(
        Sentence(text, tuple(sorted(number[id(one)] for one in told)), "neither", told[0].thing)
        for text, told in fold_changes(comparison, scales)
    )
