"""What a comparison consists of: a closed set of changes, each with before and after.

- Values are plain trees (see show.trees) as they stand in the file; UNSET is what is not there.
- ``thing`` is named as in the new show; for what was removed, as in the old one.
- A fixture's type and mode that were exchanged together are one Changed, the mode along with it.
- A moved thing that also changed is one Moved, and a Changed for each field.
- What followed a moved thing belongs to its Moved and to no other change.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

from msgspec import UNSET

from showvault.show.addressing import Thing
from showvault.show.trees import Tree

Path: TypeAlias = tuple[str, ...]
"""The keys that lead from a thing to a field inside it."""


@dataclass(frozen=True, slots=True)
class Added:
    """A thing that the old show does not have; a cue list comes with its cues."""

    thing: Thing
    after: Tree


@dataclass(frozen=True, slots=True)
class Removed:
    """A thing that the new show does not have; a cue list goes with its cues."""

    thing: Thing
    before: Tree


@dataclass(frozen=True, slots=True)
class Changed:
    """One field of a thing, or one stored level; UNSET where a side does not say it."""

    thing: Thing
    path: Path
    before: Tree
    after: Tree
    along: "tuple[Changed, ...]" = ()
    """Fields of the thing that were exchanged with this one: a fixture's mode with its type."""

    @property
    def part(self) -> str:
        """The part of the cue that it is in; empty for what is not in a part of its own."""
        return self.path[1] if self.path[:1] == ("parts",) and len(self.path) > 1 else ""

    @property
    def inside(self) -> Path:
        """The path inside the cue or the part; a whole part is ("parts", number)."""
        return self.path[2:] if self.part and len(self.path) > 2 else self.path

    @property
    def field(self) -> str:
        """The path inside the cue or the part, with dots: "label", "times.Position.fade"."""
        return ".".join(self.inside)

    @property
    def level(self) -> tuple[str, str] | None:
        """The fixture or cell and the attribute of a stored level; None for other fields."""
        match self.inside:
            case ("levels", fixture, attribute):
                return fixture, attribute
            case _:
                return None


@dataclass(frozen=True, slots=True)
class Rekeyed:
    """A reference that is a key, such as a fixture's number among the levels of a cue."""

    thing: Thing
    path: Path
    """The path of the object that holds the key."""
    before: str
    after: str


Follower: TypeAlias = Changed | Rekeyed
"""A reference to a moved thing that moved along, and nothing else about it changed."""


@dataclass(frozen=True, slots=True)
class Stayed:
    """A reference that still names a moved thing's old number."""

    thing: Thing
    path: Path


@dataclass(frozen=True, slots=True)
class Moved:
    """A thing at another number or place; a cue list moves with its cues."""

    thing: Thing
    from_: Thing
    followed: Sequence[Follower] = ()
    """In the order of a show; they may be looked for only when they are asked for."""
    stayed: tuple[Stayed, ...] = ()
    run: int | None = None
    """Shared by neighbours that moved together, in their order; None for one that moved alone."""


@dataclass(frozen=True, slots=True)
class Copied:
    """A new thing with the content of one that the old show has and that is still there."""

    thing: Thing
    from_: Thing
    after: Tree


Change: TypeAlias = Added | Removed | Changed | Moved | Copied


@dataclass(frozen=True)
class Comparison:
    """Every difference of two shows once, in the order of a show."""

    changes: tuple[Change, ...] = ()
    left_out: tuple[str, ...] = ()
    """Paths that were left out on purpose and in which something did change."""


def is_set(value: Tree) -> bool:
    """Tell whether a side says the value at all."""
    return value is not UNSET
