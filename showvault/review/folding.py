"""Many changes told in few true sentences; each change is in exactly one, and unfolds from it.

First what looks different, the widest reach first; then what plays differently; then the rest.
"""

from collections.abc import Iterable, Iterator
from decimal import Decimal

from showvault.compare.changes import Added, Change, Comparison, Copied
from showvault.review.facts import level_facts
from showvault.review.field_folding import (
    cues_seen,
    fold_comings,
    fold_fields,
    fold_presets,
    fold_things,
    say_cue_things,
    say_seen_in,
)
from showvault.review.fixture_sets import group_names
from showvault.review.kinds import EffectKind
from showvault.review.level_folding import Sentence, fold_levels
from showvault.review.review import Review
from showvault.review.summary import fold_changes
from showvault.review.values import Scales, no_scales, say_seconds
from showvault.show.addressing import Thing, thing_order

_KINDS: tuple[EffectKind, ...] = ("looks", "plays", "neither")


def fold(review: Review, scales: Scales = no_scales) -> list[Sentence]:
    """Return the changes of a review as sentences, what looks different first."""
    names = group_names(review.sides.after)
    found = [
        *fold_levels(review, level_facts(review, scales), names),
        *fold_presets(review, scales, names),
    ]
    found += fold_fields(review, _left(review, found), names)
    found += fold_comings(review, _left(review, found), names)
    found += fold_things(review, _left(review, found))
    found += _as_they_are(review, _left(review, found), scales)
    return sorted(found, key=lambda sentence: _order(review, sentence))


def unfold(sentence: Sentence, comparison: Comparison) -> list[Change]:
    """Return the changes that a sentence stands for, in their order."""
    return [comparison.changes[index] for index in sentence.changes]


def _left(review: Review, sentences: Iterable[Sentence]) -> list[int]:
    """Return the changes that are in no sentence yet."""
    told = {index for sentence in sentences for index in sentence.changes}
    return [index for index in range(len(review.comparison.changes)) if index not in told]


def _as_they_are(review: Review, left: list[int], scales: Scales) -> Iterator[Sentence]:
    """Tell the rest by the words alone, each kind by itself."""
    for kind in _KINDS:
        indexes = [index for index in left if review.kinds[index] == kind]
        number = {id(review.comparison.changes[index]): index for index in indexes}
        rest = Comparison(tuple(review.comparison.changes[index] for index in indexes))
        for text, changes in fold_changes(rest, scales):
            told = tuple(sorted(number[id(change)] for change in changes))
            thing = changes[0].thing
            alone = len({change.thing for change in changes}) == 1
            more = _say_more(review, kind, thing, len(changes)) if alone else ""
            if isinstance(changes[0], Added | Copied):  # it is seen in itself before all
                more = more.replace("; seen in", "; seen also in", 1)
            yield Sentence(text + more, told, kind, thing)


def _say_more(review: Review, kind: EffectKind, thing: Thing, count: int) -> str:
    """Say where a change is seen, in which cues an effect runs, how long a chain of follows is."""
    if kind == "looks":
        return say_seen_in(review, thing)
    plays = [play for play in review.plays if play.source == thing]
    if thing.kind == "effect" and plays:
        return f"; started in {say_cue_things(review, [play.thing for play in plays])}"
    chains = {play.chain for play in plays if play.chain is not None}
    if count == len(plays) == len(chains) == 1:
        chain = chains.pop()
        if chain.before != chain.after and chain.follows:
            one, other = (say_seconds(Decimal(time) / 1000) for time in (chain.before, chain.after))
            return f"; with all that follows {one} → {other}"
    return ""


def _order(review: Review, sentence: Sentence) -> tuple[object, ...]:
    wide = sentence.thing.kind in ("preset", "fixture", "fixture_type")
    reach = len(cues_seen(review, sentence.thing)) if wide else 0
    return (_KINDS.index(sentence.kind), -reach, thing_order(sentence.thing), sentence.changes)
