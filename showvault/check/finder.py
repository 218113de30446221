"""Everything the check has to say about a show, in one go.

The format's own faults come as errors. Where a show is not understood, the rules look at what of it
is, and one note names what they did not look at. The order depends on the show alone: errors,
warnings, notes, each in the order of the rules and of the show.
"""

from collections.abc import Callable, Iterable, Iterator

from showvault.check import (
    blocks,
    capacity,
    chains,
    hazards,
    links,
    moves,
    parts,
    patch,
    timing,
    uses,
)
from showvault.check.contents import Contents, contents_as_far_as_understood
from showvault.check.faults import find_faults_in_order
from showvault.check.finding import SEVERITIES, Finding, note
from showvault.show.addressing import say_thing, thing_order
from showvault.show.cutting import cut_into_parts
from showvault.show.faults import Fault
from showvault.show.reading import NotUnderstoodError, decode_show, judge_whole

Rule = Callable[[Contents], Iterator[Finding]]

RULES: tuple[Rule, ...] = (
    uses.find_missing_fixtures,
    links.find_missing_types,
    links.find_missing_presets,
    links.find_missing_effects,
    links.find_missing_cues,
    uses.find_lacking_attributes,
    uses.find_effects_without_an_attribute,
    uses.find_unpatched_fixtures,
    parts.find_parameters_stored_twice,
    patch.find_overlaps,
    patch.find_footprints_past_the_end,
    patch.find_breaks_without_an_address,
    patch.find_slots_taken_twice,
    capacity.find_universes_beyond_capacity,
    capacity.find_places_beyond_capacity,
    timing.find_empty_lists,
    timing.find_follows_to_nowhere,
    timing.find_cues_in_a_loop,
    hazards.find_hazards,
    hazards.find_strobes_in_use,
    hazards.find_flashing_effects,
)
"""The rules that look at one thing at a time, in the order in which their findings are told."""

RULES_OF_LOOKS: tuple[Rule, ...] = (
    blocks.find_blocks_that_let_through,
    chains.find_flashing_chains,
    chains.find_cues_that_never_finish,
    moves.find_live_moves,
)
"""The rules for which the whole show has to be understood."""

_NAMED_AT_MOST = 5


def find_problems(data: bytes) -> list[Finding]:
    """Return everything the check finds in the bytes of a show file.

    Raises NotWholeError where the bytes stop before their end.
    """
    return sorted(survey(data), key=lambda finding: SEVERITIES.index(finding.severity))


def find_problems_of_file(data: bytes) -> list[Finding]:
    """Return what find_problems finds; that a file is not whole is a finding, and the only one."""
    wholeness = judge_whole(data)
    if wholeness.state == "broken":
        said = f"the file is not whole: {wholeness.reason}"
        return [Finding("error", "not-whole", "the file", "", said)]
    return find_problems(data)


def survey(data: bytes) -> Iterator[Finding]:
    """Yield what find_problems returns, one by one, in the order of the rules.

    Raises NotWholeError where the bytes stop before their end.
    """
    faults = find_faults_in_order(data)
    if not faults:
        try:
            contents = Contents(decode_show(data))
        except NotUnderstoodError as error:
            faults = error.faults
        else:
            del data  # read, and as large as what was read of it is to the rules
            yield from _follow(RULES + RULES_OF_LOOKS, contents)
            return
    yield from map(_of_fault, faults)
    cut = cut_into_parts(data)
    if cut is None:
        yield note("not-looked-at", (), "nothing but the format was looked at")
        return
    contents = contents_as_far_as_understood(cut)
    yield _not_looked_at(contents)
    yield from _follow(RULES, contents)


def _follow(rules: Iterable[Rule], contents: Contents) -> Iterator[Finding]:
    for rule in rules:
        yield from rule(contents)


def _of_fault(fault: Fault) -> Finding:
    return Finding("error", "format", fault.place, fault.pointer, fault.text)


def _not_looked_at(contents: Contents) -> Finding:
    unread = sorted(contents.unread, key=thing_order)
    if not unread:
        return note("not-looked-at", (), "no look was computed, for the show is not understood")
    named = ", ".join(map(say_thing, unread[:_NAMED_AT_MOST]))
    more = f" and {len(unread) - _NAMED_AT_MOST} more" if len(unread) > _NAMED_AT_MOST else ""
    text = f"what is not understood was not looked at, nor any look: {named}{more}"
    return note("not-looked-at", (), text)
