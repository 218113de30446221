"""Which parameters can differ on stage after an edit: the only ones a review looks at.

- what an edited, added, removed or moved cue stores otherwise;
- what stands between the old and the new place of a moved cue;
- what a preset holds otherwise; what a fixture or its type has otherwise;
- every intensity of a list that tracks and did not, or the other way round.

Named as in the new show; what only the old show has is named as there.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from showvault.compare.changes import (
    Added,
    Changed,
    Comparison,
    Copied,
    Moved,
    Removed,
)
from showvault.look.fixtures import Rig, is_intensity, rig_of
from showvault.look.presets import held_level, preset_named
from showvault.look.storing import is_tracking, parts_in_order
from showvault.review.lanes import Stored, what_is_stored
from showvault.review.pairs import CuePairs, Pairs, cues_of
from showvault.show.addressing import Kind, Thing, cue_order
from showvault.show.model import Cue, Preset, Show

Suspects = dict[str, set[str]]
"""Attributes by fixture or cell."""


@dataclass(frozen=True)
class Sides:
    """Two shows and their rigs."""

    before: Show
    after: Show
    before_rig: Rig
    after_rig: Rig
    pairs: Pairs
    touched: Mapping[Kind, frozenset[Thing]]
    """What the comparison names, old names and new ones, by kind."""


def sides_of(before: Show, after: Show, comparison: Comparison) -> Sides:
    """Return two shows made ready for a review."""
    touched: dict[Kind, set[Thing]] = defaultdict(set)
    for change in comparison.changes:
        touched[change.thing.kind].add(change.thing)
        match change:
            case Moved(_, from_):
                touched[from_.kind].add(from_)
                for reference in (*change.followed, *change.stayed):
                    touched[reference.thing.kind].add(reference.thing)
            case Added() | Removed() | Changed() | Copied():
                pass
    pairs = Pairs(before, after, comparison)
    by_kind = {kind: frozenset(things) for kind, things in touched.items()}
    return Sides(before, after, rig_of(before), rig_of(after), pairs, by_kind)


def find_suspects(sides: Sides, cues: CuePairs, everywhere: Suspects) -> Suspects:
    """Return the parameters of one list that can differ, ``everywhere`` included."""
    found: Suspects = defaultdict(set)
    _add(found, ((key, name) for key, names in everywhere.items() for name in names))
    before, after = cues_of(sides.before, cues.old_list), cues_of(sides.after, cues.new_list)
    touched = sides.touched.get("cue", frozenset())
    for number in {*before, *after}:
        old, new = before.get(number), after.get(number)
        here = Thing("cue", number, cues.new_list) in touched
        if (here or Thing("cue", number, cues.old_list) in touched) and (
            cues.old.get(number) == number
        ):
            _add(found, _stored_otherwise(sides.pairs, old, new))
        elif cues.old.get(number) != number:
            _add(found, _stored_otherwise(sides.pairs, old, None))
            _add(found, _stored_otherwise(sides.pairs, None, new))
    for low, high in _ways(cues):
        for number, cue in before.items():
            if low <= cue_order(number) <= high:
                _add(found, _stored_otherwise(sides.pairs, cue, None))
        for number, cue in after.items():
            if low <= cue_order(number) <= high:
                _add(found, _stored_otherwise(sides.pairs, None, cue))
    if _tracks(sides.before, cues.old_list) != _tracks(sides.after, cues.new_list):
        _add(found, _intensities(sides))
    return found


def find_suspects_everywhere(sides: Sides) -> Suspects:
    """Return the parameters that a preset, a fixture or a type makes differ in any list."""
    found: Suspects = defaultdict(set)
    if sides.touched.get("fixture") or sides.touched.get("fixture_type"):
        _add(found, _had_otherwise(sides))
        _add(found, _held_for_another_type(sides))
    keys: set[str] | None = None
    for name in sorted({thing.id for thing in sides.touched.get("preset", ())}):
        keys = _all_keys(sides) if keys is None else keys
        _add(found, _held_otherwise(sides, name, keys))
    return found


def _add(found: Suspects, parameters: Iterable[tuple[str, str]]) -> None:
    for key, attribute in parameters:
        found[key].add(attribute)


def _stored_otherwise(
    pairs: Pairs, before: Cue | None, after: Cue | None
) -> Iterator[tuple[str, str]]:
    one = _stored(before, pairs.new_key) if before is not None else {}
    other = _stored(after, str) if after is not None else {}
    for parameter in one.keys() | other.keys():
        if one.get(parameter) != other.get(parameter):
            yield parameter


def _stored(cue: Cue, rename: Callable[[str], str]) -> dict[tuple[str, str], tuple[Stored, ...]]:
    found: dict[tuple[str, str], tuple[Stored, ...]] = {}
    for _, part in parts_in_order(cue):
        for key, values in (part.levels or {}).items():
            new_key = rename(key)
            for attribute, value in values.items():
                stored = what_is_stored(value)
                if stored is not None:
                    parameter = (new_key, attribute)
                    found[parameter] = (stored, *found.get(parameter, ()))
    return found


def _ways(cues: CuePairs) -> Iterator[tuple[tuple[int, int, str], tuple[int, int, str]]]:
    """Yield from where to where cues moved."""
    for new, old in cues.old.items():
        if new != old:
            one, other = cue_order(new), cue_order(old)
            yield min(one, other), max(one, other)


def _had_otherwise(sides: Sides) -> Iterator[tuple[str, str]]:
    """Yield what differs between a fixture and what it was: existence, defaults."""
    renamed = {sides.pairs.new_key(key): key for key in sides.before_rig.channels}
    for key in renamed.keys() | sides.after_rig.channels.keys():
        one = sides.before_rig.channels.get(renamed.get(key, ""), {})
        other = sides.after_rig.channels.get(key, {})
        for attribute in one.keys() | other.keys():
            if (attribute in one) != (attribute in other) or (
                one[attribute].default != other[attribute].default
            ):
                yield key, attribute


def _held_for_another_type(sides: Sides) -> Iterator[tuple[str, str]]:
    """Yield what presets may hold otherwise because a fixture is of another type."""
    renamed = {
        sides.pairs.new_name(Thing("fixture", old)).id: old for old in sides.before_rig.types
    }
    retyped = {
        number
        for number in renamed.keys() | sides.after_rig.types.keys()
        if sides.before_rig.type_of(renamed.get(number, "")) != sides.after_rig.type_of(number)
    }
    if retyped:
        attributes = {
            name
            for show in (sides.before, sides.after)
            for places in (show.presets or {}).values()
            for preset in places.values()
            for name in _attributes_of(preset)
        }
        for key in _all_keys(sides):
            if key.partition(".")[0] in retyped:
                yield from ((key, name) for name in attributes)


def _held_otherwise(sides: Sides, name: str, keys: set[str]) -> Iterator[tuple[str, str]]:
    """Yield what a preset holds otherwise than the preset it was, or than the one of its name."""
    after = preset_named(sides.after, name)
    old = sides.pairs.old_name(Thing("preset", name))
    for before in {
        id(p): p
        for p in (
            preset_named(sides.before, name),
            preset_named(sides.before, old.id) if old else None,
        )
    }.values():
        if before == after:
            continue
        attributes = _attributes_of(before) | _attributes_of(after)
        for key in keys:
            old_key = sides.pairs.old_key(key) or ""
            for attribute in attributes:
                one = held_level(before, old_key, sides.before_rig.type_of(old_key), attribute)
                other = held_level(after, key, sides.after_rig.type_of(key), attribute)
                if one != other:
                    yield key, attribute


def _attributes_of(preset: Preset | None) -> set[str]:
    if preset is None:
        return set()
    found = set(preset.all or {})
    for table in (preset.types or {}, preset.levels or {}):
        for values in table.values():
            found |= values.keys()
    return found


def _all_keys(sides: Sides) -> set[str]:
    """Return every fixture and cell of the patch or of a cue."""
    keys = {*sides.after_rig.channels, *map(sides.pairs.new_key, sides.before_rig.channels)}
    for show, rename in ((sides.before, sides.pairs.new_key), (sides.after, str)):
        for number in show.cue_lists or {}:
            for cue in cues_of(show, number).values():
                for _, part in parts_in_order(cue):
                    keys.update(map(rename, part.levels or {}))
    return keys


def _tracks(show: Show, number: str) -> bool:
    cue_list = (show.cue_lists or {}).get(number)
    return cue_list is None or is_tracking(cue_list)


def _intensities(sides: Sides) -> Iterator[tuple[str, str]]:
    for key in _all_keys(sides):
        yield key, "Dimmer"
    for channels in (sides.before_rig.channels, sides.after_rig.channels):
        for key, of_key in channels.items():
            yield from ((key, name) for name in of_key if is_intensity(name))
