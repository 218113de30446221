"""A show as things and their bytes, in memory or still in a store: what a comparison works on.

Two parts with equal keys have equal bytes, so only parts with unequal keys are ever read.
"""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import Protocol

from showvault.show.addressing import Thing
from showvault.show.cutting import CutShow, skeleton_as_json
from showvault.show.reading import NotUnderstoodError, NotWholeError, find_faults, judge_whole
from showvault.show.recutting import cut_like
from showvault.show.trees import Tree, parse_part


class Part(Protocol):
    """The bytes of one thing."""

    @property
    def key(self) -> Hashable:
        """What tells these bytes from others; comparable within one comparison."""

    @property
    def data(self) -> bytes:
        """The bytes, read when they are asked for."""


@dataclass(frozen=True)
class LoadedPart:
    """A part whose bytes are in memory."""

    key: Hashable
    data: bytes


@dataclass(frozen=True)
class ShowParts:
    """A show to be compared: its outline (each thing an empty object) and its parts."""

    outline: Tree
    parts: Mapping[Thing, Part]


def parts_of(cut: CutShow, keys: Mapping[str, Hashable] | None = None) -> ShowParts:
    """Return a cut show's things.

    ``keys`` names each part's bytes as the other side of a comparison does; without it the bytes
    are their own key.
    """
    keys = cut.parts if keys is None else keys
    return ShowParts(
        parse_part(skeleton_as_json(cut.skeleton)),
        {thing: LoadedPart(keys[name], cut.parts[name]) for thing, name in cut.names.items()},
    )


def parts_of_file(data: bytes, name: str = "the show") -> ShowParts:
    """Return the things of a show file, as far as it is understood.

    Raises NotWholeError, or NotUnderstoodError where the bytes have no outline of a show.
    """
    return parts_of(cut_file(data, name))


def parts_of_files(before: bytes, after: bytes) -> tuple[ShowParts, ShowParts]:
    """Return the things of two show files that are to be compared: equal ones are told at once.

    Raises NotWholeError or NotUnderstoodError, as `parts_of_file` does.
    """
    old = cut_file(before, "the older show")
    new = cut_file(after, "the newer show", like=old)
    return parts_of(old), parts_of(new)


def cut_file(data: bytes, name: str, like: CutShow | None = None) -> CutShow:
    """Cut a show file, along another one where that is much like it.

    Raises NotWholeError, or NotUnderstoodError where the bytes have no outline of a show.
    """
    cut = cut_like(data, like)
    if cut is not None:
        return cut
    wholeness = judge_whole(data)
    if wholeness.state == "broken":
        raise NotWholeError(wholeness.reason, name)
    raise NotUnderstoodError(find_faults(data), name)
