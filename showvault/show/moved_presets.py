"""Presets that moved, and parts in which nothing differs but their names: told from bytes alone.

A preset that 800 cues use moves, and each of them is written anew. That nothing else happened in
them is plain at once; reading them all would take a hundred times as long.
"""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

import msgspec

from showvault.show.addressing import Thing
from showvault.show.cutting import CutShow
from showvault.show.renaming import NONE_RENAMED, Texts, holds_extra


class _Reference(NamedTuple):
    preset: Thing
    old: bytes
    new: bytes


class PresetMoves:
    """Where presets moved to, and what of two shows differs in nothing but that."""

    def __init__(
        self, moved: Mapping[Thing, Thing], renamed: Mapping[Thing, Texts] = NONE_RENAMED
    ) -> None:
        """Take what moved, and of ``renamed`` things what followed that.

        ``renamed`` are things under their own number in both shows, and what differs in them.
        """
        self.moved = moved
        # A preset that moved to where another one was cannot be told by replacing names in turn.
        apart = not moved.keys() & set(moved.values())
        references = [one for pair in moved.items() for one in _references(*pair)]
        self._references = references if apart else []
        preset_of = {(one.old, one.new): one.preset for one in self._references}
        movers = {  # few, for very many things
            texts: frozenset(preset_of[text] for text in texts)
            for texts in set(renamed.values())
            if texts <= preset_of.keys()
        }
        self._known = {thing: movers[texts] for thing, texts in renamed.items() if texts in movers}

    def __bool__(self) -> bool:
        return bool(self._references)

    def known(self, thing: Thing) -> frozenset[Thing]:
        """Return the movers of a renamed thing, empty where they are not known."""
        return self._known.get(thing, frozenset())

    def movers(self, before: bytes, after: bytes) -> frozenset[Thing]:
        """Return the presets (old names) whose names alone differ; empty if anything else does."""
        if holds_extra(before):
            return frozenset()
        used = []
        for reference in self._references:
            renamed = before.replace(reference.old, reference.new)
            if renamed != before:
                before = renamed
                used.append(reference)
                if before == after:
                    self._try_first(used)
                    return frozenset(one.preset for one in used)
        return frozenset()

    def _try_first(self, used: list[_Reference]) -> None:
        """The next part is most likely written like this one."""
        if self._references[: len(used)] != used:
            rest = [one for one in self._references if one not in used]
            self._references = [*used, *rest]


NO_MOVES = PresetMoves({})


def find_moved_presets(last: CutShow, cut: CutShow) -> dict[Thing, Thing]:
    """Return the presets of ``last`` that stand under another number: each once, in equal bytes."""
    gone = _single(last, last.names.keys() - cut.names.keys())
    come = _single(cut, cut.names.keys() - last.names.keys())
    return {old: come[data] for data, old in gone.items() if data in come}


def _single(cut: CutShow, things: set[Thing]) -> dict[bytes, Thing]:
    """Return those of the presets that no other one has the bytes of."""
    presets = [(cut.parts[cut.names[thing]], thing) for thing in things if thing.kind == "preset"]
    found = dict(presets)
    twice = {data for data, thing in presets if found[data] != thing}
    return {data: thing for data, thing in found.items() if data not in twice}


def _references(old: Thing, new: Thing) -> Iterator[_Reference]:
    """A reference as it is written, close or with a blank, and what it becomes."""
    for between in (b":", b": "):
        key = b'"preset"' + between
        texts = (key + msgspec.json.encode(name.id) for name in (old, new))
        yield _Reference(old, *texts)
