"""What merging, bringing back and undoing did, as text and as records."""

from collections.abc import Sequence
from typing import Any, TypeAlias

from showvault.check.finding import Finding
from showvault.flows.bring_back import BroughtBack
from showvault.flows.combine import Combined
from showvault.flows.outcomes import AlreadySo
from showvault.flows.placing import Placed
from showvault.flows.rewriting import Rewritten
from showvault.flows.undo import Undone
from showvault.interchange.reader import Loss
from showvault.look.levels import ABSENT, percent_as_json, percent_of
from showvault.merge.conflicts import Conflict
from showvault.merge.met import MetCue, MetLevel
from showvault.report.cautions import caution_lines, caution_record
from showvault.report.conversion import NOT_HELD, loss_lines, loss_record
from showvault.report.terminal import safe
from showvault.review.effect import CueEffect, Shift
from showvault.review.level_folding import Sentence
from showvault.review.ranges import fold_numbers, say_cues, say_fixtures, say_things
from showvault.review.stage_json import on_stage_as_json
from showvault.review.values import Scale, Scales, say_level_pair, say_stored
from showvault.review.wording import say_change
from showvault.show.addressing import Thing, say_thing
from showvault.show.attributes import say_attribute

MOST = 20
"""How many levels that met, and how many cues, are told one by one."""

LEVELS_A_CUE = 4
"""How many levels of a cue are told one by one."""

Outcome: TypeAlias = Rewritten | AlreadySo | None
"""What was written; None where nobody meant to write, or conflicts are left."""


def merged_record(
    combined: Combined, placed: Placed | None, losses: tuple[Loss, ...] = ()
) -> dict[str, Any]:
    """Return what a merge did, for programs."""
    return {
        "merged": not combined.conflicts,
        "written": placed is not None,
        "path": None if placed is None else str(placed.path),
        "number": placed.version.number if placed is not None and placed.version else None,
        "replaced": [] if placed is None else [version.number for version in placed.replaced],
        "write_losses": [loss_record(loss) for loss in losses],
        "conflicts": [conflict.as_json() for conflict in combined.conflicts],
        "decided": [
            {**conflict.as_json(), "take": choice} for conflict, choice in combined.decided
        ],
        "findings": list(combined.findings),
        "neither": [met_record(met) for met in combined.met],
        "cautions": [caution_record(caution) for caution in combined.cautions],
    }


def merged_text(combined: Combined, placed: Placed | None, losses: tuple[Loss, ...] = ()) -> str:
    """Say what a merge did: conflicts, new findings, what looks as neither side left it."""
    lines = conflict_lines(combined.conflicts)
    lines += [f"decided for {choice}: {safe(c.text)}" for c, choice in combined.decided]
    lines += finding_lines(combined.findings)
    lines += met_lines(combined.met, combined.scales)
    lines += caution_lines(combined.cautions)
    left = len(combined.conflicts)
    if placed is None:
        how = "--ask asks for each, --take and --decisions answer them"
        said = f"not written: {_count(left, 'conflict')} left to decide ({how})"
        return "\n".join([*lines, said])
    lines += [
        f"version {version.number} keeps what stood there before" for version in placed.replaced
    ]
    lines += loss_lines(NOT_HELD, losses)
    standing = f"written, mine standing in {_count(left, 'open conflict')}"
    did = standing if left else "merged and written"
    kept = f", kept as version {placed.version.number}" if placed.version is not None else ""
    return "\n".join([*lines, f"{safe(str(placed.path))}: {did}{kept}"])


def brought_record(back: BroughtBack, written: Outcome) -> dict[str, Any]:
    """Return what bringing something back does, for programs."""
    return {
        **_written_record(written),
        "asked": [say_thing(thing) for thing in back.brought.asked],
        "along": [say_thing(thing) for thing in back.brought.along],
        "notes": list(back.brought.notes),
        "stores": [say_thing(cue) for cue in back.stores],
        "on_stage": on_stage_as_json(back.asked),
        "on_stage_elsewhere": on_stage_as_json(back.others),
        "findings": list(back.findings),
        "cautions": [caution_record(caution) for caution in back.cautions],
    }


def brought_text(back: BroughtBack, written: Outcome) -> str:
    """Say what bringing something back does on stage, and what was written."""
    brought = back.brought
    lines = [f"brought back: {safe(', '.join(say_things(brought.asked)))}"]
    if brought.along:
        lines.append(f"came along: {safe(', '.join(say_things(brought.along)))}")
    lines += [f"note: {safe(note)}" for note in brought.notes]
    if back.stores:
        named = ", ".join(say_things(back.stores))
        lines.append(f"stores that keep the looks of other cues: {safe(named)}")
    lines += effect_lines("looks different, as asked for:", back.asked, back.scales)
    lines += effect_lines("looks different too, without being asked for:", back.others, back.scales)
    if not back.asked and not back.others:
        lines.append("nothing looks different on stage")
    lines += finding_lines(back.findings)
    if not isinstance(written, AlreadySo):
        lines += caution_lines(back.cautions)
    return "\n".join([*lines, *written_lines(written)])


def undone_record(undone: Undone, written: Outcome) -> dict[str, Any]:
    """Return what undoing changes does, for programs."""
    return {
        **_written_record(written),
        "undone": [say_change(change, undone.scales) for change in undone.chosen.changes],
        "conflicts": [conflict.as_json() for conflict in undone.conflicts],
        "on_stage": on_stage_as_json(undone.effects),
        "findings": list(undone.findings),
        "cautions": [caution_record(caution) for caution in undone.cautions],
    }


def undone_text(undone: Undone, numbers: Sequence[int]) -> str:
    """Say one by one which changes are undone, by their numbers, and what that does on stage."""
    return _undone_text(
        undone,
        [
            f"undo {number}: {safe(say_change(change, undone.scales))}"
            for number, change in zip(numbers, undone.chosen.changes, strict=True)
        ],
    )


def undone_folded_text(undone: Undone, sentences: Sequence[Sentence]) -> str:
    """Say in few sentences what is undone, the numbers of its changes with each."""
    return _undone_text(undone, [_undo_line(sentence) for sentence in sentences])


def _undo_line(sentence: Sentence) -> str:
    numbers = ", ".join(fold_numbers([str(index + 1) for index in sorted(sentence.changes)]))
    return f"undo {numbers}: {safe(sentence.text)}"


def _undone_text(undone: Undone, lines: list[str]) -> str:
    if undone.conflicts:
        lines.append("later edits stand on it (mine: the show of now, theirs: undone):")
        lines += [f"  {line}" for line in conflict_lines(undone.conflicts)]
    lines += effect_lines("looks different:", undone.effects, undone.scales) or [
        "nothing looks different on stage"
    ]
    lines += finding_lines(undone.findings)
    return "\n".join([*lines, *caution_lines(undone.cautions)])


def effect_lines(headline: str, effects: Sequence[CueEffect], scales: Scales) -> list[str]:
    """Say what looks different, a line for all cues in which it is the same."""
    alike: dict[tuple[str, tuple[Shift, ...]], list[Thing]] = {}
    for effect in effects:
        alike.setdefault((effect.cue.list, effect.shifts), []).append(effect.cue)
    lines = [headline] if effects else []
    for (_, shifts), cues in list(alike.items())[:MOST]:
        told = [
            f"{say_fixtures([shift.fixture])} {say_attribute(shift.attribute)} "
            f"{_say_shift(shift, scales)}"
            for shift in shifts[:LEVELS_A_CUE]
        ]
        more = len(shifts) - LEVELS_A_CUE
        told += [f"and {more} more"] if more > 0 else []
        lines.append(f"  {safe(', '.join(say_things(cues)))}: {safe('; '.join(told))}")
    left = [cue for cues in list(alike.values())[MOST:] for cue in cues]
    if left:
        lines.append(f"  and {len(left)} more: {safe(', '.join(say_things(left)))}")
    return lines


def finding_lines(findings: Sequence[Finding]) -> list[str]:
    """Return what is new in the check, a line each."""
    lines = ["new in the check:"] if findings else []
    return lines + [f"  {f.severity:<8} {safe(f.text)}  [{f.rule}]" for f in findings]


def _written_record(written: Outcome) -> dict[str, Any]:
    match written:
        case Rewritten(path, replaced, version):
            return {
                "written": True,
                "path": str(path),
                "number": version.number if version else None,
                "replaced": [replaced.number] if replaced else [],
            }
        case AlreadySo(path):
            return {"written": False, "path": str(path), "number": None, "replaced": []}
        case None:
            return {"written": False, "path": None, "number": None, "replaced": []}


def written_lines(written: Outcome) -> list[str]:
    """Say where it was written, and how to go back."""
    match written:
        case None:
            return ["nothing was written"]
        case AlreadySo(path):
            return [f"{safe(str(path))} is so already: nothing had to be written"]
        case Rewritten(path, replaced, version):
            lines = []
            if replaced is not None:
                lines.append(f"version {replaced.number} keeps what stood there before")
            kept = f", kept as version {version.number}" if version is not None else ""
            said = f"{safe(str(path))} written{kept}; `showvault restore previous` undoes this"
            return [*lines, said]


def conflict_lines(conflicts: Sequence[Conflict]) -> list[str]:
    """Return a line for each conflict."""
    return [f"conflict: {safe(conflict.text)}" for conflict in conflicts]


def met_lines(met: Sequence[MetCue], scales: Scales) -> list[str]:
    """Say which cues look as neither side left them, the levels that met first."""
    if not met:
        return []
    told = [
        f"  {safe(say_thing(one.cue))}: {_say_met(level, scales)}"
        for one in met
        for level in one.levels
    ]
    headline = "cues that look as neither of you left them (what each edited meets in them):"
    lines = [headline, *told[:MOST]]
    if len(told) > MOST:
        lines.append(f"  and {len(told) - MOST} more levels")
    for number in dict.fromkeys(one.cue.list for one in met):
        cues = [one.cue.id for one in met if one.cue.list == number and not one.levels]
        if cues:
            lines.append(f"  list {safe(number)} {say_cues(cues)}: edits of both sides together")
    return lines


def met_record(met: MetCue) -> dict[str, Any]:
    """Return a cue that looks as neither side left it; levels in percent."""
    return {
        "place": say_thing(met.cue),
        "list": met.cue.list,
        "cue": met.cue.id,
        "levels": [
            {
                "fixture": level.fixture,
                "attribute": level.attribute,
                "mine": _percent(level.mine),
                "theirs": _percent(level.theirs),
                "merged": _percent(level.merged),
            }
            for level in met.levels
        ],
    }


def _say_met(level: MetLevel, scales: Scales) -> str:
    scale = scales(level.fixture, level.attribute)
    sides = (("mine", level.mine), ("theirs", level.theirs))
    told = ", ".join(f"{name} {_say(value, scale)}" for name, value in sides if value is not None)
    where = f"{say_fixtures([level.fixture])} {safe(say_attribute(level.attribute))}"
    return f"{where} {_say(level.merged, scale)} ({told})"


def _say_shift(shift: Shift, scales: Scales) -> str:
    scale = scales(shift.fixture, shift.attribute)
    if ABSENT in (shift.before, shift.after):
        return f"{_say(shift.before, scale)} → {_say(shift.after, scale)}"
    return say_level_pair(percent_of(shift.before), percent_of(shift.after), scale)


def _say(level: int, scale: Scale | None) -> str:
    return "not there" if level == ABSENT else say_stored(percent_of(level), scale)


def _percent(level: int | None) -> int | float | None:
    return None if level is None or level == ABSENT else percent_as_json(level)


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
