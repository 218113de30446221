"""Whether cues that follow each other leave time to finish, and whether they flash.

- A fade that is unfinished when the next cue goes carries on; it never arrives where a cue that
  follows by itself takes the same parameter over before (common practice, no source).
- More than three flashes in any one second can set off a seizure (general flash threshold of WCAG
  2.3.1, a rule for screens, here a guide).
"""

from collections.abc import Callable, Iterator
from functools import cache

from msgspec import UnsetType

from showvault.check.contents import Contents
from showvault.check.finding import Finding, name_fixtures, note, warning
from showvault.look.chains import Chain, CueOrder, CueRef, Step, chain_from, find_loops
from showvault.look.flashing import FLASH_LIMIT, chain_rate
from showvault.look.levels import milliseconds
from showvault.look.storing import Stored, parts_in_order
from showvault.look.timing import DIRECTIONS, cue_length, times_of
from showvault.look.tracking import Look, LookTable, all_looks
from showvault.show.model import Cue

_CUES_TO_FLASH = 2 * int(FLASH_LIMIT)
"""How many changes of cue in a second it takes to flash faster than the limit."""


def find_cues_that_never_finish(contents: Contents) -> Iterator[Finding]:
    """``never-finishes`` (note): a cue that follows takes fixtures over before they arrive."""
    order = CueOrder(contents.show)
    length_of = cache(lambda ref: _length(contents, order, ref))
    for number, cue_number, cue in contents.cues():
        if isinstance(cue.follow, UnsetType):
            continue
        steps = _steps_after(CueRef(number, cue_number), order, length_of)
        fixtures = set(_taken_over(contents, order, cue, steps))
        if fixtures:
            verb = "never arrives" if len(fixtures) == 1 else "never arrive"
            text = f"{name_fixtures(fixtures)} {verb}: a cue that follows takes over before"
            yield note("never-finishes", ("cue_lists", number, "cues", cue_number), text)


def find_flashing_chains(contents: Contents) -> Iterator[Finding]:
    """``chain-flashes`` (warning): follows flash a fixture more than three times a second."""
    order = CueOrder(contents.show)
    tables: dict[str, LookTable] = {}
    for first in _beginnings(contents, order):
        chain = chain_from(order, contents.rig, first)
        flashing = _say_flashing(contents, chain, tables)
        if flashing:
            path = ("cue_lists", first.list, "cues", first.cue)
            yield warning("chain-flashes", path, f"the follows from here {flashing}")


def _say_flashing(contents: Contents, chain: Chain, tables: dict[str, LookTable]) -> str:
    if chain.loops_to is not None and chain.length == _start_of_round(chain):
        return "run round in no time at all"
    if not _may_flash(chain):
        return ""
    looks = dict(_looks_of(contents, chain, tables))
    fast = {key: rate for key, rate in chain_rate(chain, looks).items() if rate > FLASH_LIMIT}
    if not fast:
        return ""
    return f"flash {name_fixtures(fast)} up to {max(fast.values())} times in a second"


def _beginnings(contents: Contents, order: CueOrder) -> list[CueRef]:
    """Return the cues that begin a chain: none follows into them, or they are first in a loop."""
    follows = [
        CueRef(number, cue_number)
        for number, cue_number, cue in contents.cues()
        if not isinstance(cue.follow, UnsetType)
    ]
    followed = {order.after(ref) for ref in follows}
    return [ref for ref in follows if ref not in followed] + [
        loop[0] for loop in find_loops(contents.show)
    ]


def _length(contents: Contents, order: CueOrder, ref: CueRef) -> int:
    cue = order.cue(ref)
    return 0 if cue is None else cue_length(contents.rig, cue)


def _steps_after(
    ref: CueRef, order: CueOrder, length_of: Callable[[CueRef], int]
) -> Iterator[Step]:
    """Yield the cues that follow by themselves, as far as somebody asks; a loop once."""
    seen = {ref}
    now = 0
    while (cue := order.cue(ref)) is not None and not isinstance(cue.follow, UnsetType):
        now += milliseconds(cue.follow.seconds)
        now += length_of(ref) if cue.follow.from_ == "end" else 0
        following = order.after(ref)
        if following is None or following in seen:
            return
        seen.add(following)
        yield Step(following, now)
        ref = following


def _taken_over(
    contents: Contents, order: CueOrder, first: Cue, steps: Iterator[Step]
) -> Iterator[str]:
    """Yield the fixtures of a cue that a later one of its chain takes over too early."""
    arrivals = _earliest(contents, first)
    for step in steps:
        arrivals = {key: end for key, end in arrivals.items() if end > step.start}
        cue = order.cue(step.ref)
        if not arrivals or cue is None:
            return
        begins = _latest(contents, cue)
        for parameter in arrivals.keys() & begins.keys():
            if step.start + begins[parameter] < arrivals[parameter]:
                yield parameter[0]
        arrivals = {key: end for key, end in arrivals.items() if key not in begins}


def _earliest(contents: Contents, cue: Cue) -> dict[tuple[str, str], int]:
    """Return when each parameter has arrived at the earliest, in milliseconds from the go."""
    return {
        (key, attribute): min(
            times_of(contents.rig, cue, stored, key, attribute, direction).end
            for direction in DIRECTIONS
        )
        for key, attribute, stored in _stored(cue)
    }


def _latest(contents: Contents, cue: Cue) -> dict[tuple[str, str], int]:
    """Return when each parameter begins to move at the latest, in milliseconds from the go."""
    return {
        (key, attribute): max(
            times_of(contents.rig, cue, stored, key, attribute, direction).delay
            for direction in DIRECTIONS
        )
        for key, attribute, stored in _stored(cue)
    }


def _stored(cue: Cue) -> Iterator[tuple[str, str, Stored]]:
    for number, part in parts_in_order(cue):
        for key, values in (part.levels or {}).items():
            for attribute, value in values.items():
                yield key, attribute, Stored(number, part, value)


def _may_flash(chain: Chain) -> bool:
    """Tell cheaply whether enough cues go in any one second, rounds of a loop included."""
    starts = [step.start for step in chain.steps]
    if chain.loops_to is not None:
        first = _start_of_round(chain)
        period = chain.length - first
        rounds = min(1000 // period + 1, _CUES_TO_FLASH) + 1
        round_ = [start for start in starts if start >= first]
        starts += [start + period * number for number in range(1, rounds) for start in round_]
    return any(
        later - earlier < 1000
        for earlier, later in zip(starts, starts[_CUES_TO_FLASH:], strict=False)
    )


def _start_of_round(chain: Chain) -> int:
    return next(step.start for step in chain.steps if step.ref == chain.loops_to)


def _looks_of(
    contents: Contents, chain: Chain, tables: dict[str, LookTable]
) -> Iterator[tuple[tuple[str, str], Look]]:
    for step in chain.steps:
        number, cue = step.ref
        if number not in tables:
            tables[number] = all_looks(contents.show, number)
        yield step.ref, tables[number].look(cue)
