"""Which moved things moved together: neighbours that are neighbours again, in the same order.

"Cues 12–20 became 112–120" is one run of nine moves.
"""

from collections.abc import Mapping

from showvault.compare.neighbours import Neighbours
from showvault.show.addressing import KINDS, Thing, thing_order


def number_runs(
    moved: Mapping[Thing, Thing], old: list[Thing], new: list[Thing]
) -> dict[Thing, int]:
    """Return the number of the run of each moved thing (old name) that did not move alone."""
    runs: list[list[Thing]] = []
    for kind in KINDS:
        of_kind = sorted((thing for thing in moved if thing.kind == kind), key=thing_order)
        if len(of_kind) < 2:
            continue
        neighbours = Neighbours(
            [thing for thing in old if thing.kind == kind],
            [thing for thing in new if thing.kind == kind],
        )
        for thing in of_kind:
            last = runs[-1][-1] if runs else None
            if (
                last is not None
                and last.kind == kind
                and neighbours.followed_by(last, thing)
                and neighbours.new_followed_by(moved[last], moved[thing])
            ):
                runs[-1].append(thing)
            else:
                runs.append([thing])
    together = [run for run in runs if len(run) > 1]
    return {thing: number for number, run in enumerate(together, start=1) for thing in run}
