"""A whole comparison told shortly: one line for a version, and sentences with equal things folded.

Every change is told in exactly one sentence, and no sentence covers what did not change.
"""

from collections import Counter
from collections.abc import Iterator, Sequence

from showvault.compare.changes import Added, Change, Changed, Comparison, Copied, Moved, Removed
from showvault.review.ranges import say_fixtures, say_things
from showvault.review.values import Scales, no_scales
from showvault.review.wording import (
    say_change,
    say_level_change,
    say_references,
    say_what,
    say_where,
)
from showvault.show.addressing import Thing, thing_order

WIDTH = 120
"""How long a version's line is at most: it must say something of what changed, not count alone."""

NOTHING_CHANGED = "nothing changed"
_NOUNS = {"cue_list": "cue list", "fixture_type": "fixture type"}


def summarise(comparison: Comparison, sentences: Sequence[str] | None = None) -> str:
    """Return one line for a version: "4 cues, 1 preset: list 1 cue 12.5: fixtures 101–108 …".

    ``sentences`` are those of `say_comparison`, where they are at hand.
    """
    changes = comparison.changes
    if not changes:
        return NOTHING_CHANGED
    told = say_comparison(comparison) if sentences is None else sentences
    if len(changes) == 1:
        return shortened(told[0])
    return shortened(f"{count_changed(comparison)}: {'; '.join(told)}")


def count_changed(comparison: Comparison) -> str:
    """Count the changed things: "4 cues, 1 preset"."""
    things = dict.fromkeys(change.thing for change in comparison.changes)  # in the show's order
    counts = Counter(thing.kind for thing in things)
    counted = [
        _count(counts[kind], _NOUNS.get(kind, kind))
        for kind in ("cue", "preset", "fixture", *counts)
        if kind in counts and kind != "show"
    ]
    return ", ".join(dict.fromkeys(counted)) or "the show"


def describe(comparison: Comparison, scales: Scales = no_scales, most: int = 40) -> str:
    """Return a version's message: the line, and under it at most so many sentences."""
    sentences = say_comparison(comparison, scales)
    told = [_one_line(sentence) for sentence in sentences[:most]]
    if len(sentences) > most:
        told.append(f"and {len(sentences) - most} more")
    return "\n".join([summarise(comparison, sentences), *(["", *told] if told else [])])


def say_comparison(comparison: Comparison, scales: Scales = no_scales) -> list[str]:
    """Return every change in few sentences, in the order of a show."""
    return [sentence for sentence, _ in fold_changes(comparison, scales)]


def fold_changes(
    comparison: Comparison, scales: Scales = no_scales
) -> list[tuple[str, tuple[Change, ...]]]:
    """Return sentences and the changes each stands for; every change is in exactly one."""
    folded: list[tuple[str, tuple[Change, ...]]] = []
    by_body: dict[tuple[object, ...], list[tuple[Changed, ...]]] = {}
    runs: dict[int, list[Moved]] = {}
    for change in comparison.changes:
        match change:
            case Changed():
                continue
            case Moved(run=int(run)):
                runs.setdefault(run, []).append(change)
            case Added() | Removed() | Copied() | Moved():
                folded.append((say_change(change, scales), (change,)))
    folded += [(_say_run(moved), tuple(moved)) for moved in runs.values()]
    for body, changes in _bodies(comparison.changes, scales):
        first = changes[0]
        key = (first.thing.kind, first.thing.list, _preset_group(first.thing), first.part, body)
        by_body.setdefault(key, []).append(changes)
    for words, groups in by_body.items():
        told = tuple(change for group in groups for change in group)
        folded.append((f"{_say_places(told)}: {words[-1]}", told))
    return sorted(folded, key=lambda sentence: thing_order(sentence[1][0].thing))


def _bodies(changes: Sequence[Change], scales: Scales) -> Iterator[tuple[str, tuple[Changed, ...]]]:
    """Yield what became of each thing's values, fixtures with the same words drawn together."""
    alike: dict[tuple[Thing, str, str], list[Changed]] = {}
    for change in changes:
        if not isinstance(change, Changed):
            continue
        if change.level is None:
            yield say_what(change, scales), (change,)
        else:
            words = say_level_change(change, scales)
            alike.setdefault((change.thing, change.part, words), []).append(change)
    for (_, _, words), same in alike.items():
        fixtures = [change.inside[1] for change in same]
        yield f"{say_fixtures(fixtures)} {words}", tuple(same)


def _say_run(moved: Sequence[Moved]) -> str:
    first, last = moved[0], moved[-1]
    if len(moved) == 1:
        return say_change(first)
    where = f"list {first.from_.list} " if first.from_.kind == "cue" else ""
    there = f"list {first.thing.list} " if first.thing.list != first.from_.list else ""
    noun = f"{_NOUNS.get(first.from_.kind, first.from_.kind)}s"
    span = f"{first.from_.id}–{last.from_.id} became {there}{first.thing.id}–{last.thing.id}"
    said = f"{where}{noun} {span} ({len(moved)})"
    return said + say_references(moved)


def _say_places(changes: Sequence[Changed]) -> str:
    things = list(dict.fromkeys(change.thing for change in changes))
    if len(things) == 1:
        return say_where(changes[0])
    part = f" part {changes[0].part}" if len(changes[0].inside) < len(changes[0].path) else ""
    return "; ".join(say_things(things)) + part


def _preset_group(thing: Thing) -> str:
    return thing.id.partition(" ")[0] if thing.kind == "preset" else ""


def _count(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def _one_line(text: str) -> str:
    return " ".join(text.split())


def shortened(text: str) -> str:
    """Return text on one line, cut between two words where a version's line has to end."""
    line = _one_line(text)
    if len(line) <= WIDTH:
        return line
    return line[: WIDTH - 1].rpartition(" ")[0].rstrip(" ,;:") + "…"
