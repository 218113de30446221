"""The references that followed a moved thing, found one by one only where somebody asks for them.

A preset that 800 cues use moves: that those cues differ in nothing but its name is plain from their
bytes, at once. Which values of theirs name it takes decoding them all.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import overload

from showvault.compare.changes import Follower
from showvault.show.addressing import Thing, thing_order


class Followers(Sequence[Follower]):
    """References in the order of a show: known ones, and those to be found in ``pending``."""

    def __init__(
        self,
        known: Iterable[Follower],
        pending: Sequence[Thing] = (),
        find: Callable[[], Iterable[Follower]] = tuple,
    ) -> None:
        self._known = tuple(known)
        self._pending = tuple(pending)
        self._find = find
        self._all: tuple[Follower, ...] | None = None

    @property
    def things(self) -> list[Thing]:
        """The things that hold the references, at no cost."""
        return sorted(
            {follower.thing for follower in self._known} | {*self._pending}, key=thing_order
        )

    def __len__(self) -> int:
        return len(self._found())

    def __iter__(self) -> Iterator[Follower]:
        return iter(self._found())

    @overload
    def __getitem__(self, index: int) -> Follower: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[Follower, ...]: ...
    def __getitem__(self, index: int | slice) -> Follower | tuple[Follower, ...]:
        return self._found()[index]

    def __bool__(self) -> bool:
        return bool(self._known or self._pending)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and self._found() == tuple(other)

    def __hash__(self) -> int:
        return hash(tuple(self.things))

    def __repr__(self) -> str:
        return f"Followers({self._found()!r})"

    def _found(self) -> tuple[Follower, ...]:
        if self._all is None:
            found = [*self._known, *self._find()]
            self._all = tuple(sorted(found, key=lambda one: (thing_order(one.thing), one.path)))
        return self._all
