"""Two people's shows put together, with all that has to be told before anybody loads the result."""

from collections.abc import Sequence
from dataclasses import dataclass

from showvault.check.contents import Contents
from showvault.check.finder import RULES
from showvault.check.finding import Finding
from showvault.compare.differ import compare_shows
from showvault.errors import ShowvaultError
from showvault.merge.conflicts import Choice, Conflict, Decide
from showvault.merge.merger import Merged, merge_shows, write_merged
from showvault.merge.met import MetCue, Side, find_met
from showvault.review.cautions import Caution, cautions_for
from showvault.review.effect import effects_of
from showvault.review.hazards import find_hazards
from showvault.review.suspects import sides_of
from showvault.show.cutting import CutShow, cut_into_parts
from showvault.show.model import Show
from showvault.show.parts import parts_of
from showvault.show.reading import NotUnderstoodError, decode_show, find_faults


class SpliceError(ShowvaultError):
    """The bytes that were put together do not read as the show they should be."""

    exit_code = 8

    def __init__(self, problem: str) -> None:
        super().__init__(
            f"the merged file does not read as it should: {problem}",
            hint="nothing was written; please report this, with the files if you may",
        )


@dataclass(frozen=True)
class Input:
    """A show to be merged: its bytes, and what to call it."""

    name: str
    data: bytes


@dataclass(frozen=True)
class Combined:
    """A merged show and what is told of it."""

    data: bytes
    conflicts: tuple[Conflict, ...]
    """What is left to decide; provisionally as in mine."""
    decided: tuple[tuple[Conflict, Choice], ...]
    findings: tuple[Finding, ...]
    """What the check finds in the merged show and on neither side."""
    met: tuple[MetCue, ...]
    """The cues that look on stage as neither side left them."""
    cautions: tuple[Caution, ...]


def combine(base: Input, mine: Input, theirs: Input, decide: Decide) -> Combined:
    """Merge what two people made of ``base``; the result keeps the formatting of ``mine``.

    Raises NotWholeError or NotUnderstoodError for a show that cannot be merged.
    """
    cuts = [_cut(side) for side in (base, mine, theirs)]
    shows = [decode_show(side.data, side.name) for side in (base, mine, theirs)]
    one, other, third = map(parts_of, cuts)
    merged = merge_shows(one, other, third, decide)
    data, cut, show = write_checked(cuts[1], merged)
    comparisons = [compare_shows(parts_of(side), parts_of(cut)) for side in cuts[1:]]
    sides = [Side(*side) for side in zip(shows[1:], comparisons, strict=True)]
    ours = sides_of(shows[1], show, comparisons[0])
    return Combined(
        data,
        merged.conflicts,
        merged.decided,
        new_findings(shows[1:], show),
        tuple(find_met(sides[0], sides[1], show)),
        tuple(cautions_for(find_hazards(ours, effects_of(ours)))),
    )


def write_checked(mine: CutShow, merged: Merged) -> tuple[bytes, CutShow, Show]:
    """Splice a merged show into a file, and read it back. Raises SpliceError."""
    data = write_merged(mine, merged)
    cut = cut_into_parts(data)
    if cut is None:
        raise SpliceError("it is no show")
    try:
        show = decode_show(data, "the merged show")
    except ShowvaultError as error:
        raise SpliceError(str(error)) from error
    problem = merged.differs_from(mine, cut)
    if problem:
        raise SpliceError(problem)
    return data, cut, show


def new_findings(sides: Sequence[Show], merged: Show) -> tuple[Finding, ...]:
    """Return what the check's rules find in a show and in none of the shows it came from."""
    known = {
        (finding.rule, finding.text) for side in sides for finding in _findings(Contents(side))
    }
    return tuple(
        finding
        for finding in _findings(Contents(merged))
        if (finding.rule, finding.text) not in known
    )


def _findings(contents: Contents) -> list[Finding]:
    return [finding for rule in RULES for finding in rule(contents)]


def _cut(side: Input) -> CutShow:
    cut = cut_into_parts(side.data)
    if cut is not None:
        return cut
    decode_show(side.data, side.name)
    raise NotUnderstoodError(find_faults(side.data), side.name)
