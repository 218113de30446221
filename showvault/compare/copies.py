"""Which new things are copies of things that the old show has.

- The content is that of the old thing, in the same bytes, or in other bytes because what it names
  moved: then the original followed as well, or was edited after it was copied.
- Only a thing that tells itself apart is a copy; equal contents by chance are new.
"""

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from functools import cached_property

from showvault.compare.likeness import content_of, tells_itself_apart, traits_of
from showvault.compare.renames import Renames
from showvault.compare.sides import Side
from showvault.show.addressing import Kind, Thing, thing_order


class Copies:
    """The things of one kind that may be originals, by what they hold."""

    def __init__(
        self,
        kind: Kind,
        old: Side,
        new: Side,
        renames: Renames,
        changed: Mapping[Thing, Thing],
        followed: Mapping[Thing, Thing],
    ) -> None:
        """Old and new names of what is in both shows in other bytes: more, or only, by moves."""
        self._kind, self._old, self._new = kind, old, new
        self._blurred = renames.blurred()
        self._changed, self._followed_alone = changed, followed

    def find(self, old_things: Iterable[Thing], come: Sequence[Thing]) -> dict[Thing, Thing]:
        """Return new name to old name of what was copied among the things that came."""
        if not come:
            return {}
        held = _first_of(sorted(old_things, key=thing_order), self._old.key)
        both = {**self._followed_alone, **self._changed}
        now = {self._new.key(new): old for old, new in both.items()}
        found = {}
        for thing in come:
            key = self._new.key(thing)
            original = held.get(key) or self._followed(now.get(key), thing)
            if original is None and self._blurred:
                original = self._edited.get(self._content(self._new, thing))
            if original is not None and self._tells_itself_apart(thing):
                found[thing] = original
        return found

    def _followed(self, old: Thing | None, new: Thing) -> Thing | None:
        """Return an original that is equal again in the new show, as both followed what moved."""
        if old is None or self._content(self._old, old) != self._content(self._new, new):
            return None
        return old

    @cached_property
    def _edited(self) -> Mapping[Hashable, Thing]:
        things = sorted(self._changed, key=thing_order)
        return _first_of(things, lambda thing: self._content(self._old, thing))

    def _content(self, side: Side, thing: Thing) -> Hashable:
        return content_of(self._kind, side.tree(thing), self._blurred)

    def _tells_itself_apart(self, thing: Thing) -> bool:
        return tells_itself_apart(traits_of(self._kind, self._new.tree(thing)))


def _first_of(things: Iterable[Thing], key: Callable[[Thing], Hashable]) -> dict[Hashable, Thing]:
    found: dict[Hashable, Thing] = {}
    for thing in things:
        found.setdefault(key(thing), thing)
    return found
