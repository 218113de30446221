"""Which list, cue, preset and fixture of the old show is which one of the new show.

The comparison says what moved; everything else is itself where its number is the same. A cue that
moved to another list has no counterpart: what one list puts on stage is compared within that list.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from showvault.compare.changes import Comparison, Moved
from showvault.show.addressing import Thing
from showvault.show.model import Cue, Show


@dataclass(frozen=True)
class CuePairs:
    """The cues of one list on both sides: ``old`` by new number, and ``new`` by old number."""

    old_list: str
    new_list: str
    old: Mapping[str, str]
    new: Mapping[str, str]


class Pairs:
    """Who is who in two shows."""

    def __init__(self, before: Show, after: Show, comparison: Comparison) -> None:
        self._moved = {
            change.from_: change.thing for change in comparison.changes if isinstance(change, Moved)
        }
        self._origin = {new: old for old, new in self._moved.items()}
        self._before = before
        self._after = after

    def new_name(self, thing: Thing) -> Thing:
        """Return what a thing of the old show is called in the new one."""
        return self._moved.get(thing, thing)

    def old_name(self, thing: Thing) -> Thing | None:
        """Return what a thing of the new show was called; None where it cannot be the old one."""
        if thing in self._origin:
            return self._origin[thing]
        return None if thing in self._moved else thing

    def old_key(self, key: str) -> str | None:
        """Return the old key of a fixture or of a cell."""
        number, dot, cell = key.partition(".")
        old = self.old_name(Thing("fixture", number))
        return None if old is None else f"{old.id}{dot}{cell}"

    def new_key(self, key: str) -> str:
        """Return the new key of a fixture or of a cell."""
        number, dot, cell = key.partition(".")
        return f"{self.new_name(Thing('fixture', number)).id}{dot}{cell}"

    def lists(self) -> list[CuePairs]:
        """Return the lists that both shows have, each with its cues paired."""
        found = []
        for new_list in self._after.cue_lists or {}:
            old = self.old_name(Thing("cue_list", new_list))
            if old is not None and old.id in (self._before.cue_lists or {}):
                found.append(self._cues(old.id, new_list))
        return found

    def _cues(self, old_list: str, new_list: str) -> CuePairs:
        ours, theirs = cues_of(self._before, old_list), cues_of(self._after, new_list)
        old_of: dict[str, str] = {}
        for number in theirs:
            new = Thing("cue", number, new_list)
            old = self._origin.get(new)
            if old is not None:
                if old.list in (old_list, new_list) and old.id in ours:
                    old_of[number] = old.id
            elif number in ours and Thing("cue", number, old_list) not in self._moved:
                old_of[number] = number
        return CuePairs(old_list, new_list, old_of, {old: new for new, old in old_of.items()})


def cues_of(show: Show, list_number: str) -> Mapping[str, Cue]:
    """Return the cues of a list; none where there is no such list."""
    cue_list = (show.cue_lists or {}).get(list_number)
    return (cue_list.cues or {}) if cue_list is not None else {}
