"""A version's message: one line that stands alone, then what to watch first and the sentences."""

from showvault.review.folding import fold
from showvault.review.review import Review
from showvault.review.summary import count_changed, shortened, summarise
from showvault.review.values import Scales, no_scales
from showvault.review.watching import warn_first, watch_first


def describe_review(review: Review, scales: Scales = no_scales, most: int = 40) -> str:
    """Return a message: the line, warnings, and at most so many sentences."""
    sentences = [one.text for one in fold(review, scales)]
    told = [*(watch.text for watch in watch_first(review, 1)), *warn_first(review)]
    if len(told) + len(sentences) > most:
        kept = max(most - len(told), 0)
        sentences = [*sentences[:kept], f"and {len(sentences) - kept} more"]
    lines = [_one_line(line) for line in (*told, *sentences)]
    return "\n".join([say_headline(review, scales), *(["", *lines] if lines else [])])


def say_headline(review: Review, scales: Scales = no_scales) -> str:
    """Return one line: how many cues look and play differently, and the widest change of all."""
    counts = say_cue_counts(review)
    if not review.comparison.changes:
        return summarise(review.comparison)
    first = fold(review, scales)[0].text
    if not counts and len(review.comparison.changes) > 1:
        counts = [count_changed(review.comparison)]
    return shortened(": ".join([*([", ".join(counts)] if counts else []), first]))


def say_cue_counts(review: Review) -> list[str]:
    """Count the cues in which lit fixtures look different, dark ones do, and that play otherwise.

    "49 cues look different", "3 differ in the dark", "12 play differently".
    """
    playing = len({play.thing for play in review.plays if play.thing.kind == "cue"})
    looking = sum(1 for sight in review.sights if sight.fixtures)
    counted = (
        (looking, "looks different", "look different"),
        (len(review.sights) - looking, "differs in the dark", "differ in the dark"),
        (playing, "plays differently", "play differently"),
    )
    told: list[str] = []
    for count, one, many in counted:
        if count:
            told.append(f"{count if told else _cues(count)} {one if count == 1 else many}")
    return told


def _cues(count: int) -> str:
    return "1 cue" if count == 1 else f"{count} cues"


def _one_line(text: str) -> str:
    return " ".join(text.split())
