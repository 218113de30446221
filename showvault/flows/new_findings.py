"""What the check finds in a show and in none of the shows that it was made from.

Where nothing but the contents of cues differs, what a cue holds is asked of those cues alone: all
others are as they were on both sides, and so is what they name.
"""

from collections.abc import Collection, Iterable, Sequence

from msgspec.structs import replace

from showvault.check import timing
from showvault.check.contents import Contents
from showvault.check.finder import RULES
from showvault.check.finding import Finding
from showvault.compare.changes import Changed, Comparison
from showvault.show.addressing import Thing
from showvault.show.model import Show

_OF_WHOLE_LISTS = (
    timing.find_empty_lists,
    timing.find_follows_to_nowhere,
    timing.find_cues_in_a_loop,
)
"""The rules that a cue's neighbours matter to."""


def find_new(
    sides: Sequence[Show], comparisons: Iterable[Comparison], merged: Show
) -> tuple[Finding, ...]:
    """Return the findings that are new; ``comparisons`` lead from each side to the show."""
    changes = [change for comparison in comparisons for change in comparison.changes]
    if all(isinstance(change, Changed) and change.thing.kind == "cue" for change in changes):
        cues = {change.thing for change in changes}
        asked = [rule for rule in RULES if rule not in _OF_WHOLE_LISTS]
        new = _new([_only(side, cues) for side in sides], asked, _only(merged, cues))
        return (*new, *_new(sides, _OF_WHOLE_LISTS, merged))
    return _new(sides, RULES, merged)


def _new(sides: Iterable[Show], rules: Sequence[object], merged: Show) -> tuple[Finding, ...]:
    known = {(one.rule, one.text) for side in sides for one in _findings(side, rules)}
    return tuple(one for one in _findings(merged, rules) if (one.rule, one.text) not in known)


def _findings(show: Show, rules: Sequence[object]) -> list[Finding]:
    contents = Contents(show)
    return [finding for rule in RULES if rule in rules for finding in rule(contents)]


def _only(show: Show, cues: Collection[Thing]) -> Show:
    lists = {
        number: replace(
            cue_list,
            cues={
                key: cue
                for key, cue in (cue_list.cues or {}).items()
                if Thing("cue", key, number) in cues
            },
        )
        for number, cue_list in (show.cue_lists or {}).items()
    }
    return replace(show, cue_lists=lists)
