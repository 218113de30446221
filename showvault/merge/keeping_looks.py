"""Stores that leave the other cues looking as they did, wherever a change would track into them.

In the first cue of each run in which a parameter looks different, the level it stood at is stored:
over the value that the cue stores itself, else in its first part. Common practice, no source.
"""

from collections.abc import Collection, Sequence
from dataclasses import replace

from showvault.compare.sides import Side
from showvault.look.levels import ABSENT, percent_of
from showvault.look.storing import is_tracking, list_of, stored_values
from showvault.merge.contents import AsInMine, Content, Written
from showvault.merge.merger import Merged
from showvault.review.effect import CueEffect
from showvault.review.pairs import cues_of
from showvault.show.addressing import Thing, cue_order
from showvault.show.model import Show
from showvault.show.parts import ShowParts
from showvault.show.trees import Tree


def keep_looks(
    merged: Merged,
    current: ShowParts,
    before: Show,
    after: Show,
    effects: Sequence[CueEffect],
    asked: Collection[Thing],
) -> tuple[Merged, tuple[Thing, ...]]:
    """Return the show with stores added in cues that were not asked for, and which those are.

    ``effects`` are what looks different from the current show, ``before``, in ``after``.
    """
    side = Side(current)
    things: dict[Thing, Content] = dict(merged.things)
    stored: list[Thing] = []
    by_cue = {effect.cue: effect for effect in effects}
    for number in sorted({effect.cue.list for effect in effects}):
        kept: set[tuple[str, str]] = set()
        for cue in _cues(after, number):
            effect = by_cue.get(cue)
            shifts = {} if effect is None else {(s.fixture, s.attribute): s for s in effect.shifts}
            kept = kept & shifts.keys() if _tracks(after, number) else set()
            if cue in asked:
                kept = set()
                continue
            for name, shift in shifts.items():
                stores = stored_values(cues_of(after, number)[cue.id], *name)
                if shift.before == ABSENT or (name in kept and not stores):
                    continue
                tree = _tree(things[cue], side)
                part = stores[0].part if stores else "1"
                things[cue] = Written(_stored(tree, part, *name, percent_of(shift.before)))
                stored.append(cue)
                kept.add(name)
    return replace(merged, things=things), tuple(dict.fromkeys(stored))


def _cues(show: Show, number: str) -> list[Thing]:
    return [Thing("cue", cue, number) for cue in sorted(cues_of(show, number), key=cue_order)]


def _tracks(show: Show, number: str) -> bool:
    cue_list = list_of(show, number)
    return cue_list is not None and is_tracking(cue_list)


def _tree(content: Content, side: Side) -> Tree:
    match content:
        case AsInMine(thing):
            return side.tree(thing)
        case Written(tree):
            return tree


def _stored(cue: Tree, part: str, fixture: str, attribute: str, level: Tree) -> Tree:
    done = dict(cue)
    if part != "1":
        parts = dict(done["parts"])
        parts[part] = _stored(parts[part], "1", fixture, attribute, level)
        return {**done, "parts": parts}
    levels = dict(done.get("levels", {}))
    levels[fixture] = {**levels.get(fixture, {}), attribute: level}
    return {**done, "levels": levels}
