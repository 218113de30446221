"""Two people's shows put together, with all that has to be told before anybody loads the result."""

from dataclasses import dataclass

from showvault.check.finding import Finding
from showvault.compare.differ import compare_shows
from showvault.errors import ShowvaultError
from showvault.flows.new_findings import find_new
from showvault.merge.conflicts import Choice, Conflict, Decide
from showvault.merge.merger import Merged, merge_shows, write_merged
from showvault.merge.met import MetCue, find_met, side_of
from showvault.review.cautions import Caution, cautions_for
from showvault.review.hazards import find_hazards
from showvault.review.scales import scales_of
from showvault.review.values import Scales
from showvault.show.cutting import CutShow
from showvault.show.model import Show
from showvault.show.parts import cut_file, parts_of
from showvault.show.reading import decode_show


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
    scales: Scales
    """The units in which levels are said."""


def combine(base: Input, mine: Input, theirs: Input, decide: Decide) -> Combined:
    """Merge what two people made of ``base``; the result keeps the formatting of ``mine``.

    Raises NotWholeError or NotUnderstoodError for a show that cannot be merged.
    """
    cuts = [cut_file(side.data, side.name) for side in (base, mine, theirs)]
    shows = [decode_show(side.data, side.name) for side in (base, mine, theirs)]
    one, other, third = map(parts_of, cuts)
    merged = merge_shows(one, other, third, decide)
    data, cut, show = write_checked(cuts[1], merged)
    comparisons = [compare_shows(parts_of(side), parts_of(cut)) for side in cuts[1:]]
    ours, others = (
        side_of(side, show, comparison)
        for side, comparison in zip(shows[1:], comparisons, strict=True)
    )
    return Combined(
        data,
        merged.conflicts,
        merged.decided,
        find_new(shows[1:], comparisons, show),
        tuple(find_met(ours, others)),
        tuple(cautions_for(find_hazards(ours.sides, ours.effects))),
        scales_of(parts_of(cut)),
    )


def write_checked(mine: CutShow, merged: Merged) -> tuple[bytes, CutShow, Show]:
    """Splice a merged show into a file, and read it back. Raises SpliceError."""
    data = write_merged(mine, merged)
    try:
        cut = cut_file(data, "the merged show")
        show = decode_show(data, "the merged show")
    except ShowvaultError as error:
        raise SpliceError(str(error)) from error
    problem = merged.differs_from(mine, cut)
    if problem:
        raise SpliceError(problem)
    return data, cut, show
