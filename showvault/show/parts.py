"""A show as things and their bytes, in memory or still in a store: what a comparison works on.

Two parts with equal keys have equal bytes, so only parts with unequal keys are ever read.
"""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from typing import Protocol

from showvault.show.addressing import Thing
from showvault.show.cutting import CutShow, cut_into_parts, skeleton_as_json
from showvault.show.fileparts import FilePart
from showvault.show.moved_presets import NO_MOVES, PresetMoves
from showvault.show.outlines import Span, find_spans
from showvault.show.reading import NotUnderstoodError, NotWholeError, find_faults, judge_whole
from showvault.show.recutting import lay_along
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
    presets: PresetMoves = field(default=NO_MOVES, kw_only=True)
    """What presets moved since the show before, and what followed them, where that is known."""


@dataclass(frozen=True)
class ShowFile(ShowParts):
    """A show file in memory as its things, each where it stands."""

    parts: Mapping[Thing, FilePart]
    """In the order of the file."""
    file: bytes


def parts_of(cut: CutShow, keys: Mapping[str, Hashable] | None = None) -> ShowParts:
    """Return a cut show's things.

    ``keys`` names each part's bytes as the other side of a comparison does; without it the bytes
    are their own key.
    """
    outline = parse_part(skeleton_as_json(cut.skeleton))
    held = {thing: cut.parts[name] for thing, name in cut.names.items()}
    if keys is None:
        return ShowParts(
            outline, {thing: FilePart(data, 0, len(data)) for thing, data in held.items()}
        )
    return ShowParts(
        outline,
        {thing: LoadedPart(keys[cut.names[thing]], data) for thing, data in held.items()},
    )


def parts_of_next(last: CutShow, before: ShowParts, cut: CutShow) -> ShowParts:
    """Return the things of a cut show, where the bytes are the same object those of ``before``.

    ``before`` are the things of ``last``.
    """
    parts: dict[Thing, Part] = {}
    for thing, name in cut.names.items():
        data = cut.parts[name]
        same = data is last.parts.get(last.names.get(thing, ""))
        parts[thing] = before.parts[thing] if same else FilePart(data, 0, len(data))
    same_outline = cut.skeleton == last.skeleton
    outline = before.outline if same_outline else parse_part(skeleton_as_json(cut.skeleton))
    return ShowParts(outline, parts)


def parts_of_file(data: bytes, name: str = "the show", like: ShowFile | None = None) -> ShowFile:
    """Return the things of a show file, as far as it is understood; equal ones of ``like`` at once.

    Raises NotWholeError, or NotUnderstoodError where the bytes have no outline of a show.
    """
    again = None if like is None else _laid_along(data, like)
    if again is not None:
        return again
    spans = find_spans(data)
    if spans is None:
        raise _why_not(data, name)
    parts = {thing: FilePart(data, start, end) for start, end, thing in spans}
    return ShowFile(_outline(data, spans), parts, data)


def parts_of_files(before: bytes, after: bytes) -> tuple[ShowFile, ShowFile]:
    """Return the things of two show files that are to be compared: equal ones are told at once.

    Raises NotWholeError or NotUnderstoodError, as `parts_of_file` does.
    """
    old = parts_of_file(before, "the older show")
    return old, parts_of_file(after, "the newer show", like=old)


def cut_file(data: bytes, name: str) -> CutShow:
    """Cut a show file.

    Raises NotWholeError, or NotUnderstoodError where the bytes have no outline of a show.
    """
    cut = cut_into_parts(data)
    if cut is None:
        raise _why_not(data, name)
    return cut


def _why_not(data: bytes, name: str) -> NotWholeError | NotUnderstoodError:
    wholeness = judge_whole(data)
    if wholeness.state == "broken":
        return NotWholeError(wholeness.reason, name)
    return NotUnderstoodError(find_faults(data), name)


def _laid_along(data: bytes, last: ShowFile) -> ShowFile | None:
    view = memoryview(last.file)
    texts, end = [], 0
    for part in last.parts.values():
        texts.append(view[end : part.start])
        end = part.end
    parts = [view[part.start : part.end] for part in last.parts.values()]
    found = lay_along(data, [*texts, view[end:]], parts)
    if found is None:
        return None
    laid = {
        thing: FilePart(data, one.start, one.end, twin=old if one.same else None)
        for (thing, old), one in zip(last.parts.items(), found, strict=True)
    }
    return ShowFile(last.outline, laid, data)


def _outline(data: bytes, spans: list[Span]) -> Tree:
    """Return a file with each thing as an empty object."""
    pieces: list[bytes] = []
    last = 0
    for start, end, _ in spans:
        pieces.append(data[last:start])
        last = end
    return parse_part(b"{}".join([*pieces, data[last:]]))
