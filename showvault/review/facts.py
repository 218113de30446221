"""What became of one fixture in one cue, as a person sees it: the raw level changes drawn together.

- The attributes of a colour or a position are one thing, by its preset's name where it has one.
- A reference that became a plain value of the same size looks the same and no longer follows.
- A change with the old value put back in the next cue is one cue-only edit.
- A number that became another can be told as a pair, a step, a new value or a ratio; which one is
  decided where many are seen together.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from msgspec import UNSET

from showvault.compare.changes import Changed
from showvault.look.levels import millionths
from showvault.look.presets import held_level, preset_named
from showvault.review.kinds import EffectKind
from showvault.review.pairs import cues_of
from showvault.review.review import Review
from showvault.review.values import Scale, Scales, is_number, say_preset, say_stored
from showvault.review.wording import say_level_change
from showvault.show.addressing import Thing, cue_order
from showvault.show.attributes import feature_group, say_attribute
from showvault.show.trees import Tree

_KINDS: tuple[EffectKind, ...] = ("looks", "plays", "neither")
_ONE_THING = {"Color": "colour", "Position": "position"}
_WITHOUT_VALUES = (" changed", " now stored", " no longer stored")


@dataclass(frozen=True)
class Step:
    """A stored number that became another number of the same attribute; percents."""

    before: Decimal
    after: Decimal


@dataclass(frozen=True)
class Fact:
    """One thing that happened to one fixture in one cue."""

    indexes: tuple[int, ...]
    """The changes it stands for, as numbers in the comparison."""
    cue: Thing
    part: str
    fixture: str
    subject: str
    """"intensity", "colour"."""
    words: str
    """What became of it, subject included."""
    kind: EffectKind
    step: Step | None = None
    example: str = ""
    """One of its values from and to, where the words tell no values."""
    put_back: str = ""
    """For a cue-only edit the next cue, in which the old value is put back."""


def level_facts(review: Review, scales: Scales) -> list[Fact]:
    """Return the level changes of all cues as facts; each change is in exactly one."""
    put_back = _put_back(review)
    returned = set(put_back.values())
    grouped: dict[tuple[Thing, str, str, str, str], list[int]] = defaultdict(list)
    for index, change in enumerate(review.comparison.changes):
        if not isinstance(change, Changed) or change.thing.kind != "cue" or index in returned:
            continue
        if change.level is not None:
            fixture, attribute = change.level
            group = feature_group(attribute)
            subject = group if group in _ONE_THING else attribute
            next_cue = (
                review.comparison.changes[put_back[index]].thing.id if index in put_back else ""
            )
            grouped[change.thing, change.part, fixture, subject, next_cue].append(index)
    facts = []
    for (cue, part, fixture, subject, next_cue), indexes in grouped.items():
        told = [_change(review, index) for index in indexes]
        returns = [put_back[index] for index in indexes if index in put_back]
        kind = min((review.kinds[index] for index in indexes), key=_KINDS.index)
        name, words, step = _words(review, told, subject, scales)
        if kind == "neither" and all(change.before is UNSET for change in told):
            words = f"{name} stored as it already was"
        example = _example(told, scales) if words.endswith(_WITHOUT_VALUES) else ""
        numbers = (*indexes, *returns)
        facts.append(Fact(numbers, cue, part, fixture, name, words, kind, step, example, next_cue))
    return facts


def _example(changes: Sequence[Changed], scales: Scales) -> str:
    """Say one change with its values, and how many there are beside it."""
    more = f" and {len(changes) - 1} more" if len(changes) > 1 else ""
    return say_level_change(changes[0], scales) + more


def _change(review: Review, index: int) -> Changed:
    change = review.comparison.changes[index]
    if not isinstance(change, Changed):
        raise TypeError(f"change {index} is not a changed level")
    return change


def _words(
    review: Review, changes: Sequence[Changed], subject: str, scales: Scales
) -> tuple[str, str, Step | None]:
    """Return the subject, what became of it, and the numbers where they are numbers."""
    plain = _became_plain(review, changes)
    name = _ONE_THING.get(subject) or say_attribute(subject)
    if plain:
        return name, f"{name} {plain}", None
    if len(changes) == 1:
        change = changes[0]
        attribute = change.inside[2]
        step = None
        if is_number(change.before) and is_number(change.after):
            step = Step(Decimal(change.before), Decimal(change.after))
        elif subject in _ONE_THING:
            return name, _one_thing(review, name, changes), None
        return say_attribute(attribute), _say_level_by_name(review, change, scales), step
    return name, _one_thing(review, name, changes), None


def _say_level_by_name(review: Review, change: Changed, scales: Scales) -> str:
    """Say what became of a level, presets by their names: "Gobo1 “Breakup” → “Leaves”"."""
    fixture, attribute = change.inside[1:3]
    name, scale = say_attribute(attribute), scales(fixture, attribute)
    before = _say_side(review, change.before, scale, "old")
    after = _say_side(review, change.after, scale, "new")
    sides = [value for value in (change.before, change.after) if value is not UNSET]
    if before == after or not any(map(_has_preset, sides)):
        return say_level_change(change, scales)
    if all(map(_has_preset, sides)):
        said = f"{feature_group(attribute)} “"
        before, after = before.replace(said, "“", 1), after.replace(said, "“", 1)
    if change.before is UNSET:
        return f"{name} now stored: {after}"
    if change.after is UNSET:
        return f"{name} no longer stored (was {before})"
    return f"{name} {before} → {after}"


def _say_side(review: Review, value: Tree, scale: Scale | None, side: str) -> str:
    said = say_stored(value, scale)
    if not _has_preset(value):
        return said
    named = say_preset_by_name(review, str(value["preset"]), side)
    return said.replace(say_preset(value["preset"]), named, 1)


def _has_preset(value: Tree) -> bool:
    return isinstance(value, dict) and "preset" in value


def _one_thing(review: Review, name: str, changes: Sequence[Changed]) -> str:
    """Say several attributes that are one thing: by preset where each side has one."""
    before, after = (
        _common(review, (change.before for change in changes), "old"),
        _common(review, (change.after for change in changes), "new"),
    )
    match before, after:
        case ("", ""):
            return f"{name} changed"
        case ("not stored", new):
            return _without_group(f"{name} now stored: {new}") if new else f"{name} now stored"
        case (old, "not stored"):
            return f"{name} no longer stored (was {old})" if old else f"{name} no longer stored"
        case ("", new):
            return f"{name} now {new}"
        case (old, ""):
            return f"{name} changed, no longer {old}"
        case (old, new) if old != new:
            return _without_group(f"{name} {old} → {new}")
        case _:
            return f"{name} changed"


def _without_group(words: str) -> str:
    """Leave out what a colour or position says already: "colour “Amber” → “Blue”"."""
    for group, name in _ONE_THING.items():
        if words.startswith(name):
            return words.replace(f" {group} “", " “")
    return words


def _common(review: Review, values: Iterable[Tree], side: str) -> str:
    """Return the one preset that all values name, or that none is stored; else nothing."""
    told = {_named(review, value, side) for value in values}
    return told.pop() if len(told) == 1 else ""


def _named(review: Review, value: Tree, side: str) -> str:
    if value is UNSET:
        return "not stored"
    if not isinstance(value, dict):
        return ""
    if value.get("release") is True:
        return "released"
    return say_preset_by_name(review, value["preset"], side) if "preset" in value else ""


def say_preset_by_name(review: Review, reference: str, side: str = "new") -> str:
    """Say a preset by its name where it has one: "Color “Amber”"."""
    show = review.sides.after if side == "new" else review.sides.before
    preset = preset_named(show, reference)
    name = preset.name if preset is not None else UNSET
    return f"{reference.partition(' ')[0]} “{name}”" if name else say_preset(reference)


def _became_plain(review: Review, changes: Sequence[Changed]) -> str:
    """Say that references became plain values of the same size; empty where they did not."""
    presets = {_plain_of(review, change) for change in changes}
    if len(presets) != 1 or None in presets:
        return ""
    named = say_preset_by_name(review, str(presets.pop()), "old")
    return f"looks the same and no longer follows {named}"


def _plain_of(review: Review, change: Changed) -> str | None:
    """Return the preset that a change took the same plain value from; None for any other change."""
    before, after = change.before, change.after
    if change.level is None or not isinstance(before, dict) or "preset" not in before:
        return None
    plain = after.get("level") if isinstance(after, dict) else after
    if plain is None or not is_number(plain):
        return None
    fixture, attribute = change.level
    key = review.sides.pairs.old_key(fixture) or ""
    preset = preset_named(review.sides.before, str(before["preset"]))
    held = held_level(preset, key, review.sides.before_rig.type_of(key), attribute)
    return str(before["preset"]) if held == millionths(plain) else None


def _put_back(review: Review) -> dict[int, int]:
    """Return which change is put back by which change in the next cue."""
    differs = {
        (effect.cue, shift.fixture, shift.attribute)
        for effect in review.effects
        for shift in effect.shifts
    }
    stored: dict[Thing, dict[tuple[str, str], list[int]]] = defaultdict(lambda: defaultdict(list))
    for index, change in enumerate(review.comparison.changes):
        if isinstance(change, Changed) and change.level is not None and change.thing.kind == "cue":
            stored[change.thing][change.level].append(index)
    found: dict[int, int] = {}
    for cue, next_cue in _neighbours(review):
        for level, here in stored[cue].items():
            there = stored[next_cue].get(level, [])
            if (
                (cue, *level) in differs
                and (next_cue, *level) not in differs
                and len(here) == len(there) == 1
                and _change(review, there[0]).before is UNSET
                and here[0] not in found.values()
            ):
                found[here[0]] = there[0]
    return found


def _neighbours(review: Review) -> Iterator[tuple[Thing, Thing]]:
    """Yield each cue that was edited with the next one of its list, both known to both shows."""
    edited = {
        change.thing
        for change in review.comparison.changes
        if isinstance(change, Changed) and change.thing.kind == "cue"
    }
    for cues in review.sides.pairs.lists():
        numbers = sorted(cues_of(review.sides.after, cues.new_list), key=cue_order)
        for one, other in pairwise(numbers):
            first, second = (Thing("cue", number, cues.new_list) for number in (one, other))
            if first in edited and second in edited and one in cues.old and other in cues.old:
                yield first, second
