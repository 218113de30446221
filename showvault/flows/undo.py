"""The inverse of chosen changes of a version, in the show as it is now.

It is a merge: the version is the base, mine the show of now, theirs the version with the chosen
changes taken back. So what was edited later stays, and a conflict says where later edits stand on
what is to be undone.
"""

from collections.abc import Collection
from dataclasses import dataclass, replace

from showvault.check.finding import Finding
from showvault.compare.applying import apply_comparison, invert_comparison
from showvault.compare.changes import Comparison
from showvault.compare.differ import compare_shows
from showvault.compare.sides import Side
from showvault.errors import ShowvaultError
from showvault.flows.combine import write_checked
from showvault.flows.new_findings import find_new
from showvault.flows.rewriting import CurrentShow
from showvault.merge.conflicts import Choice, Conflict, Decide
from showvault.merge.merger import merge_shows
from showvault.review.cautions import Caution, cautions_for
from showvault.review.effect import CueEffect, effects_of
from showvault.review.hazards import find_hazards
from showvault.review.scales import scales_of
from showvault.review.suspects import sides_of
from showvault.review.values import Scales
from showvault.show.addressing import Thing
from showvault.show.parts import Part, ShowParts, parts_of, parts_of_file
from showvault.show.reading import decode_show
from showvault.show.trees import parse_part, same_tree
from showvault.show.writing import write_show


class NoSuchChangeError(ShowvaultError):
    """A version has no change of that number."""

    exit_code = 4

    def __init__(self, number: int, count: int, version: int) -> None:
        super().__init__(
            f"version {version} has no change {number}",
            hint=f"it has changes 1 to {count}: showvault undo {version} --dry-run lists them",
        )


class NothingToUndoError(ShowvaultError):
    """A version changed nothing, or is the first."""

    exit_code = 4

    def __init__(self, version: int) -> None:
        super().__init__(
            f"version {version} changed nothing that could be undone",
            hint="showvault list says what each version changed",
        )


@dataclass(frozen=True)
class Undone:
    """The show of now with changes taken back, not written yet."""

    data: bytes
    chosen: Comparison
    conflicts: tuple[Conflict, ...]
    decided: tuple[tuple[Conflict, Choice], ...]
    effects: tuple[CueEffect, ...]
    """What looks different from the show of now."""
    findings: tuple[Finding, ...]
    cautions: tuple[Caution, ...]
    scales: Scales
    """The units in which levels are said."""


def choose_changes(whole: Comparison, numbers: Collection[int], version: int) -> Comparison:
    """Return the changes of these numbers, counted from 1; all where none is given.

    Raises NoSuchChangeError or NothingToUndoError.
    """
    if not whole.changes:
        raise NothingToUndoError(version)
    for number in numbers:
        if not 1 <= number <= len(whole.changes):
            raise NoSuchChangeError(number, len(whole.changes), version)
    chosen = (
        change for number, change in enumerate(whole.changes, 1) if not numbers or number in numbers
    )
    return replace(whole, changes=tuple(chosen))


def undo(version: bytes, chosen: Comparison, current: CurrentShow, decide: Decide) -> Undone:
    """Return the show of now without the chosen changes of a version, given as its bytes.

    Raises NotUnderstoodError where one of the shows is not.
    """
    before = decode_show(current.file.data, current.file.path.name)
    decode_show(version, "the version")
    base = parts_of_file(version, "the version")
    without = _without(base, version, chosen)
    merged = merge_shows(base, parts_of(current.cut), without, decide)
    data, written, after = write_checked(current.cut, merged)
    comparison = compare_shows(parts_of(current.cut), parts_of(written))
    sides = sides_of(before, after, comparison)
    effects = effects_of(sides)
    return Undone(
        data,
        chosen,
        merged.conflicts,
        merged.decided,
        tuple(effects),
        find_new([before], [comparison], after),
        tuple(cautions_for(find_hazards(sides, effects))),
        scales_of(parts_of(written)),
    )


def _without(base: ShowParts, version: bytes, chosen: Comparison) -> ShowParts:
    """Return the version with changes taken back; what they do not touch keeps its very bytes."""
    tree = apply_comparison(invert_comparison(chosen), parse_part(version))
    undone = parts_of_file(write_show(tree))
    side = Side(base)
    parts: dict[Thing, Part] = {
        thing: base.parts[thing]
        if thing in base.parts and same_tree(side.tree(thing), parse_part(part.data))
        else part
        for thing, part in undone.parts.items()
    }
    return ShowParts(undone.outline, parts)
