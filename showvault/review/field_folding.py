"""Changes that are no levels of a cue, drawn together: presets, fields, comings and goings.

- What became of a preset's values is one sentence, with the cues in which it is seen.
- One field of many things, each otherwise, is one sentence that names the things.
- A re-addressed rig is told by universes where all of it moved alike.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from showvault.compare.changes import Added, Change, Changed, Removed
from showvault.review.field_wording import say_field
from showvault.review.fixture_sets import GroupNames, say_fixture_set
from showvault.review.kinds import EffectKind
from showvault.review.level_folding import Sentence
from showvault.review.pairs import cues_of
from showvault.review.ranges import say_cues
from showvault.review.review import Review
from showvault.review.values import Scales
from showvault.review.wording import say_change, say_what
from showvault.show.addressing import Thing, cue_order, place_order, say_thing, thing_order
from showvault.show.trees import Tree

FEWEST_DRAWN_TOGETHER = 3
"""So many changes of one field are told as one, though each has other words."""

MOST_LISTED = 4
"""So many values are listed, in the order of their things."""

_FOCUSED = {"Position": "re-focused", "Color": "re-coloured"}


@dataclass(frozen=True)
class _Together:
    """Changes that may be told together, as numbers in the comparison."""

    kind: EffectKind
    indexes: tuple[int, ...]


def fold_presets(review: Review, scales: Scales, names: GroupNames) -> Iterator[Sentence]:
    """Tell what became of the values of each preset, and in how many cues that is seen."""
    for group in _groups(review, range(len(review.comparison.changes)), _preset_key):
        changes = _changed(review, group)
        thing = changes[0].thing
        if len(changes) == 1:
            named = f"{say_thing(thing)}{_name_of(review, thing)}"
            text = say_change(changes[0], scales).replace(say_thing(thing), named, 1)
        else:
            verb = _FOCUSED.get(thing.id.partition(" ")[0], "values changed")
            named = f"{say_thing(thing)}{_name_of(review, thing)} {verb}"
            more = f"{say_what(changes[0], scales)} and {len(changes) - 1} more"
            text = f"{named}: {_holders(changes, names)} ({more})"
        yield Sentence(text + say_seen_in(review, thing), group.indexes, group.kind, thing)


def fold_fields(review: Review, left: Iterable[int], names: GroupNames) -> Iterator[Sentence]:
    """Tell one field of many cues or fixtures, where each has other words."""
    for group in _groups(review, left, _field_key):
        changes = _changed(review, group)
        values = {repr((change.before, change.after, change.along)) for change in changes}
        if len(changes) < FEWEST_DRAWN_TOGETHER or len(values) == 1:
            continue
        things = [change.thing for change in changes]
        what = _say_field_of_many(changes)
        part = f" part {changes[0].part}" if changes[0].part else ""
        where = _say_things(review, things, names)
        first = min(things, key=thing_order)
        yield Sentence(f"{where}{part}: {what}", group.indexes, group.kind, first)


def fold_things(review: Review, left: Iterable[int]) -> Iterator[Sentence]:
    """Tell several fields of one thing, which neither look nor play differently, as one."""
    for group in _groups(review, left, _thing_key):
        if group.kind == "neither" and len(group.indexes) > 1:
            changes = _changed(review, group)
            thing = changes[0].thing
            yield Sentence(
                f"{say_thing(thing)}: {_say_fields(changes)}",
                group.indexes,
                group.kind,
                thing,
            )


def fold_comings(review: Review, left: Iterable[int], names: GroupNames) -> Iterator[Sentence]:
    """Tell many cues or fixtures that were added, or removed, as one."""
    for group in _groups(review, left, _coming_key):
        if len(group.indexes) >= FEWEST_DRAWN_TOGETHER:
            changes = [review.comparison.changes[index] for index in group.indexes]
            things = [change.thing for change in changes]
            verb = "removed" if isinstance(changes[0], Removed) else "added"
            where = _say_things(review, things, names)
            first = min(things, key=thing_order)
            yield Sentence(f"{where} {verb}", group.indexes, group.kind, first)


def _groups(
    review: Review, indexes: Iterable[int], key_of: Callable[[Change], object | None]
) -> list[_Together]:
    """Return changes with one key and of one kind together; what has no key stays out."""
    found: dict[tuple[EffectKind, object], list[int]] = defaultdict(list)
    for index in indexes:
        key = key_of(review.comparison.changes[index])
        if key is not None:
            found[review.kinds[index], key].append(index)
    return [_Together(kind, tuple(of_key)) for (kind, _), of_key in found.items()]


def _changed(review: Review, group: _Together) -> list[Changed]:
    changes = (review.comparison.changes[index] for index in group.indexes)
    return [change for change in changes if isinstance(change, Changed)]


def _preset_key(change: Change) -> object | None:
    if not isinstance(change, Changed) or change.thing.kind != "preset":
        return None
    return change.thing if change.path[:1] in (("levels",), ("types",), ("all",)) else None


def _field_key(change: Change) -> object | None:
    if not isinstance(change, Changed) or change.thing.kind not in ("cue", "fixture"):
        return None
    if change.level is not None or len(change.inside) != 1:
        return None
    moved = _universes(change.before, change.after) if change.field == "addresses" else None
    return change.thing.kind, change.thing.list, change.part, change.field, moved


def _thing_key(change: Change) -> object | None:
    if not isinstance(change, Changed) or change.level is not None:
        return None
    return change.thing, change.part


def _coming_key(change: Change) -> object | None:
    if change.thing.kind not in ("cue", "fixture"):
        return None
    match change:
        case Added():
            return change.thing.kind, change.thing.list, "added"
        case Removed():
            return change.thing.kind, change.thing.list, "removed"
        case _:
            return None


def _say_things(review: Review, things: Sequence[Thing], names: GroupNames) -> str:
    first = things[0]
    if first.kind == "fixture":
        return say_fixture_set([thing.id for thing in things], names)
    show = review.sides.after
    among = sorted({*cues_of(show, first.list), *(thing.id for thing in things)}, key=cue_order)
    return f"list {first.list} {say_cues([thing.id for thing in things], among)}"


def _say_fields(changes: Sequence[Changed]) -> str:
    """Say the fields of one thing that changed, one of them with what became of it."""
    fields = dict.fromkeys(say_field(change.inside[:2]) for change in changes)
    for change in changes:
        said = say_what(change)
        if len(said) <= _LONGEST_EXAMPLE and len(fields) > 1:
            del fields[say_field(change.inside[:2])]
            return f"{said}; {', '.join(fields)} changed"
    return f"{', '.join(fields)} changed"


def _say_field_of_many(changes: Sequence[Changed]) -> str:
    if changes[0].field == "addresses":
        moved = _universes(changes[0].before, changes[0].after)
        if moved is not None:
            return f"universe {moved[0]} → {moved[1]}, addresses as they were"
    name = say_field(changes[0].inside)
    said = [say_what(change).removeprefix(name).strip() for change in changes]
    told = ", ".join(said)
    if len(told) <= _SHORT and _in_one_line(said):
        return f"{name} {told}"
    examples = [
        f"; {_say_one(change.thing)}: {words}"
        for change, words in zip(changes, said, strict=True)
        if len(words) <= _LONGEST_EXAMPLE
    ]
    return f"{name} changed in {len(changes)}{examples[0] if examples else ''}"


def _say_one(thing: Thing) -> str:
    return f"cue {thing.id}" if thing.kind == "cue" else say_thing(thing)


def _in_one_line(said: Sequence[str]) -> bool:
    """Tell whether values are short enough to be listed in the order of their things."""
    return len(said) <= MOST_LISTED and not any("“" in value for value in said)


def _universes(before: Tree, after: Tree) -> tuple[int, int] | None:
    """Return from which universe to which a fixture moved, where nothing else about it changed."""
    if not isinstance(before, list) or not isinstance(after, list) or len(before) != len(after):
        return None
    moves = set()
    for one, other in zip(before, after, strict=True):
        if {**one, "universe": 0} != {**other, "universe": 0}:
            return None
        moves.add((one.get("universe"), other.get("universe")))
    return moves.pop() if len(moves) == 1 else None


def _holders(changes: Sequence[Changed], names: GroupNames) -> str:
    """Say for whom a preset holds other values."""
    fixtures = {change.path[1] for change in changes if change.path[0] == "levels"}
    types = {change.path[1] for change in changes if change.path[0] == "types"}
    said = [say_fixture_set(fixtures, names)] if fixtures else []
    said += [f"type {name}" for name in sorted(types)]
    if any(change.path[0] == "all" for change in changes):
        said.append("all fixtures")
    return ", ".join(said)


def _name_of(review: Review, thing: Thing) -> str:
    group, _, place = thing.id.partition(" ")
    presets = (review.sides.after.presets or {}).get(group)  # type: ignore[call-overload]
    preset = presets.get(place) if presets else None
    return f" “{preset.name}”" if preset is not None and preset.name else ""


def say_seen_in(review: Review, thing: Thing) -> str:
    """Say in which cues an edit of a thing makes lit fixtures differ, and in how many dark ones.

    Empty where no picture differs by it.
    """
    cues = review.cues_because_of(thing)
    seen = cues_seen(review, thing)
    dark = len(cues) - len(seen)
    if not seen:
        return f"; in the dark alone, in {_in_cues(review, cues)}" if cues else ""
    in_the_dark = f"; in the dark in {dark} more" if dark else ""
    return f"; seen in {_in_cues(review, seen)}{in_the_dark}"


def say_cause(review: Review, thing: Thing) -> str:
    """Say a thing whose edit makes pictures differ, and where."""
    return f"{say_thing(thing)}{_name_of(review, thing)}{say_seen_in(review, thing)}"


def cues_seen(review: Review, thing: Thing) -> list[Thing]:
    """Return the cues in which an edit of a thing makes lit fixtures look different."""
    seen = {cue for cues in review.seen_because_of(thing).values() for cue in cues}
    return [cue for cue in review.cues_because_of(thing) if cue in seen]


def _in_cues(review: Review, cues: Sequence[Thing]) -> str:
    if len(cues) == 1:
        return say_thing(cues[0])
    ranges = say_cue_things(review, cues)
    return f"{len(cues)} cues" + (f": {ranges}" if len(ranges) < _SHORT else "")


def say_cue_things(review: Review, cues: Iterable[Thing]) -> str:
    """Say cues of any lists: "list 1 cues 5–9; list 2 cue 1"."""
    lists: dict[str, list[str]] = defaultdict(list)
    for cue in cues:
        lists[cue.list].append(cue.id)
    said = []
    for number in sorted(lists, key=place_order):
        among = sorted(cues_of(review.sides.after, number), key=cue_order)
        said.append(f"list {number} {say_cues(lists[number], among)}")
    return "; ".join(said)


_LONGEST_EXAMPLE = 80
"""So long may the words be that are told as an example of many."""

_SHORT = 60
"""So long may the cues be that a sentence lists."""
