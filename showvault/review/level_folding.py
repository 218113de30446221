"""Many facts about levels told in few sentences, each true of everything it covers.

- The same words, one common step, one common new value or one common ratio: whatever covers the
  most is told first.
- A sentence names cues and fixtures only where each of these fixtures changed in each of these
  cues, or, said so, in each of these cues that stores it.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TypeAlias

from showvault.look.storing import stored_values
from showvault.review.causes import Edited, Reach
from showvault.review.facts import Fact
from showvault.review.fixture_sets import GroupNames, say_fixture_set
from showvault.review.kinds import EffectKind
from showvault.review.pairs import cues_of
from showvault.review.ranges import say_cues, say_fixtures
from showvault.review.review import Review
from showvault.review.values import say_number
from showvault.show.addressing import Thing, cue_order, place_order, thing_order

FEWEST_FOR_A_STEP = 3
"""A step or a ratio that only two values share may be chance: they are told as they are."""


@dataclass(frozen=True)
class Sentence:
    """One sentence and the changes it stands for, as numbers in the comparison."""

    text: str
    changes: tuple[int, ...]
    kind: EffectKind
    thing: Thing
    """The first thing it is about: where it stands among others."""


@dataclass(frozen=True)
class _Words:
    words: str


@dataclass(frozen=True)
class _Step:
    subject: str
    step: Decimal


@dataclass(frozen=True)
class _NewValue:
    subject: str
    after: Decimal


@dataclass(frozen=True)
class _Ratio:
    subject: str
    ratio: Fraction


_Likeness: TypeAlias = _Words | _Step | _NewValue | _Ratio
_Place: TypeAlias = tuple[str, str, EffectKind, str]
"""List, part, kind, and for a cue-only edit the cue and the next one."""


def fold_levels(review: Review, facts: Sequence[Fact], names: GroupNames) -> list[Sentence]:
    """Return facts as sentences; every fact is in exactly one."""
    by_place: dict[_Place, list[Fact]] = defaultdict(list)
    for fact in facts:
        alone = f"{fact.cue.id} {fact.put_back}" if fact.put_back else ""
        by_place[fact.cue.list, fact.part, fact.kind, alone].append(fact)
    return [
        sentence
        for of_place in by_place.values()
        for likeness, alike in _alike(of_place)
        for sentence in _sentences(review, likeness, alike, names)
    ]


def _alike(facts: Iterable[Fact]) -> Iterator[tuple[_Likeness, list[Fact]]]:
    """Yield facts that are alike, the largest number first; each fact once."""
    left = dict.fromkeys(facts)
    while left:
        groups: dict[_Likeness, list[Fact]] = defaultdict(list)
        for fact in left:
            for likeness in _likenesses(fact):
                groups[likeness].append(fact)
        likeness, alike = max(groups.items(), key=lambda item: (_weight(*item), _rank(item[0])))
        yield likeness, alike
        for fact in alike:
            del left[fact]


def _likenesses(fact: Fact) -> Iterator[_Likeness]:
    yield _Words(fact.words)
    if fact.step is not None:
        before, after = fact.step.before, fact.step.after
        yield _Step(fact.subject, after - before)
        yield _NewValue(fact.subject, after)
        if before and after:
            yield _Ratio(fact.subject, Fraction(after) / Fraction(before))


def _weight(likeness: _Likeness, facts: Sequence[Fact]) -> int:
    if isinstance(likeness, _Words) or len(facts) >= FEWEST_FOR_A_STEP:
        return len(facts)
    return 0


def _rank(likeness: _Likeness) -> tuple[int, str]:
    """Where two tell equally many: words before steps before values before ratios; then stable."""
    order = (_Ratio, _NewValue, _Step, _Words)
    return (order.index(type(likeness)), repr(likeness))


def _sentences(
    review: Review, likeness: _Likeness, facts: Sequence[Fact], names: GroupNames
) -> Iterator[Sentence]:
    if _is_everything_stored(review, facts):
        yield _sentence(review, likeness, facts, names, _where_stored(facts))
        return
    by_cue: dict[Thing, list[Fact]] = defaultdict(list)
    for fact in facts:
        by_cue[fact.cue].append(fact)
    same_fixtures: dict[frozenset[str], list[Fact]] = defaultdict(list)
    for of_cue in by_cue.values():
        same_fixtures[frozenset(fact.fixture for fact in of_cue)] += of_cue
    for rectangle in same_fixtures.values():
        yield _sentence(review, likeness, rectangle, names, "")


def _is_everything_stored(review: Review, facts: Sequence[Fact]) -> bool:
    """Tell whether, of these cues and fixtures, everything that is stored is among the facts."""
    if any(fact.put_back for fact in facts):
        return False
    there = {(fact.cue, fact.fixture) for fact in facts}
    cues, fixtures = {fact.cue for fact in facts}, {fact.fixture for fact in facts}
    if len(there) == len(cues) * len(fixtures):
        return True
    attributes = {attribute for fact in facts for attribute in _attributes(review, fact)}
    for thing in cues:
        cue = cues_of(review.sides.after, thing.list)[thing.id]
        for fixture in fixtures:
            if (thing, fixture) not in there and any(
                stored_values(cue, fixture, attribute) for attribute in attributes
            ):
                return False
    return True


def _where_stored(facts: Sequence[Fact]) -> str:
    cues, fixtures = {fact.cue for fact in facts}, {fact.fixture for fact in facts}
    return "" if len(facts) == len(cues) * len(fixtures) else " where stored"


def _attributes(review: Review, fact: Fact) -> Iterator[str]:
    for index in fact.indexes:
        level = getattr(review.comparison.changes[index], "level", None)
        if level is not None:
            yield level[1]


def _sentence(
    review: Review,
    likeness: _Likeness,
    facts: Sequence[Fact],
    names: GroupNames,
    where_stored: str,
) -> Sentence:
    first = facts[0]
    cues = sorted({fact.cue.id for fact in facts}, key=cue_order)
    among = sorted(cues_of(review.sides.after, first.cue.list), key=cue_order)
    part = f" part {first.part}" if first.part else ""
    alone = f" alone (put back in cue {first.put_back})" if first.put_back else ""
    where = f"list {first.cue.list} {say_cues(cues, among)}{part}{alone}"
    fixtures = sorted({fact.fixture for fact in facts}, key=place_order)
    said = f"{say_fixture_set(fixtures, names)} {_say(likeness, facts)}{where_stored}"
    said += _say_example(likeness, facts)
    text = f"{where}: {said}{_say_lit(review, facts)}{_say_reach(review, facts)}"
    indexes = sorted(index for fact in facts for index in fact.indexes)
    thing = min((fact.cue for fact in facts), key=thing_order)
    return Sentence(text, tuple(indexes), first.kind, thing)


def _say_example(likeness: _Likeness, facts: Sequence[Fact]) -> str:
    """Say what became of the first fixture where the words alone tell no values."""
    first = min(facts, key=lambda fact: (thing_order(fact.cue), place_order(fact.fixture)))
    if not isinstance(likeness, _Words) or not first.example:
        return ""
    cues, fixtures = {fact.cue for fact in facts}, {fact.fixture for fact in facts}
    where = [f"cue {first.cue.id}"] if len(cues) > 1 else []
    where += [say_fixtures([first.fixture])] if len(fixtures) > 1 else []
    return f" ({' '.join(where)}{': ' if where else ''}{first.example})"


def _say_lit(review: Review, facts: Sequence[Fact]) -> str:
    """Say how many of the fixtures are lit where they look different; nothing where all are."""
    if facts[0].kind != "looks":
        return ""
    fixtures = {fact.fixture for fact in facts}
    lit = {
        fact.fixture
        for fact in facts
        for attribute in _attributes(review, fact)
        if (fact.fixture, attribute) in review.seen_because_of(fact.cue)
    }
    if lit == fixtures:
        return ""
    return f" ({len(lit)} of the {len(fixtures)} lit)" if lit else " (in the dark)"


def _say_reach(review: Review, facts: Sequence[Fact]) -> str:
    """Say how far an edit of one cue tracks; nothing where not all of it goes equally far."""
    if len({fact.cue for fact in facts}) > 1 or facts[0].put_back:
        return ""
    cue = facts[0].cue
    reaches = {
        _reach_of(review, cue, fact.fixture, attribute)
        for fact in facts
        for attribute in _attributes(review, fact)
    }
    reach = reaches.pop() if len(reaches) == 1 else None
    if reach is None or reach.last == cue.id:
        return ""
    stop = "to the end" if reach.stops_at is None else f"stops at cue {reach.stops_at}"
    return f" (tracks {reach.first}–{reach.last}, {stop})"


def _reach_of(review: Review, cue: Thing, fixture: str, attribute: str) -> Reach | None:
    effect = review.effect_of(cue)
    for because in effect.because if effect is not None else ():
        if because.cause == Edited(cue) and (fixture, attribute) in because.parameters:
            return because.reach
    return None


def _say(likeness: _Likeness, facts: Sequence[Fact]) -> str:
    match likeness:
        case _Words(words):
            return words
        case _Step(subject, step):
            sign = "+" if step > 0 else "−"
            return f"{subject} {sign}{say_number(abs(step))} points"
        case _NewValue(subject, after):
            return f"{subject} now {say_number(after)} %"
        case _Ratio(subject, ratio):
            percent = Decimal(ratio.numerator) * 100 / Decimal(ratio.denominator)
            about = "" if Fraction(percent) == ratio * 100 else "about "
            return f"{subject} × {about}{say_number(percent / 100, places=3)}"
