"""What merging, bringing back and undoing did, as text and as records."""

from collections.abc import Iterable, Sequence
from typing import Any

from showvault.flows.combine import Combined
from showvault.look.levels import ABSENT, percent_as_json, percent_of
from showvault.merge.conflicts import Conflict
from showvault.merge.met import MetCue, MetLevel
from showvault.report.terminal import safe
from showvault.review.cautions import Caution
from showvault.review.ranges import say_cues, say_fixtures
from showvault.review.values import say_attribute, say_number
from showvault.show.addressing import say_thing

MOST = 20
"""How many levels that met are told one by one."""


def merged_record(combined: Combined, written: str | None) -> dict[str, Any]:
    """Return what a merge did, for programs."""
    return {
        "merged": not combined.conflicts,
        "written": written is not None,
        "path": written,
        "conflicts": [conflict.as_json() for conflict in combined.conflicts],
        "decided": [
            {**conflict.as_json(), "take": choice} for conflict, choice in combined.decided
        ],
        "findings": list(combined.findings),
        "neither": [met_record(met) for met in combined.met],
        "cautions": [caution_record(caution) for caution in combined.cautions],
    }


def merged_text(combined: Combined, written: str | None) -> str:
    """Say what a merge did: conflicts, new findings, what looks as neither side left it."""
    lines = conflict_lines(combined.conflicts)
    lines += [f"decided: {safe(c.text)}: {choice}" for c, choice in combined.decided]
    if combined.findings:
        lines.append("new in the check, on neither side before:")
        lines += [f"  {f.severity:<8} {safe(f.text)}  [{f.rule}]" for f in combined.findings]
    lines += met_lines(combined.met)
    lines += caution_lines(combined.cautions)
    left = len(combined.conflicts)
    if written is None:
        lines.append(f"not written: {_count(left, 'conflict')} left to decide")
    elif left:
        lines.append(f"{safe(written)}: written, mine standing in {_count(left, 'open conflict')}")
    else:
        lines.append(f"{safe(written)}: merged and written")
    return "\n".join(lines)


def conflict_lines(conflicts: Sequence[Conflict]) -> list[str]:
    """Return a line for each conflict."""
    return [f"conflict: {safe(conflict.text)}" for conflict in conflicts]


def met_lines(met: Sequence[MetCue]) -> list[str]:
    """Say which cues look as neither side left them, the levels that met first."""
    if not met:
        return []
    told = [
        f"  {safe(say_thing(one.cue))}: {_say_met(level)}" for one in met for level in one.levels
    ]
    lines = ["on stage as neither side left it:", *told[:MOST]]
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


def caution_lines(cautions: Iterable[Caution]) -> list[str]:
    """Return a line for each caution."""
    return [
        f"caution: {safe(caution.text)}"
        + (f" ({safe(say_fixtures(caution.fixtures))})" if caution.fixtures else "")
        for caution in cautions
    ]


def caution_record(caution: Caution) -> dict[str, Any]:
    """Return a caution, for programs."""
    return {
        "hazard": caution.hazard,
        "fixtures": list(caution.fixtures),
        "text": caution.text,
    }


def _say_met(level: MetLevel) -> str:
    sides = (("mine", level.mine), ("theirs", level.theirs))
    told = ", ".join(f"{name} {_say(value)}" for name, value in sides if value is not None)
    where = f"{say_fixtures([level.fixture])} {safe(say_attribute(level.attribute))}"
    return f"{where} {_say(level.merged)} ({told})"


def _say(level: int) -> str:
    return "not there" if level == ABSENT else f"{say_number(percent_of(level))} %"


def _percent(level: int | None) -> int | float | None:
    return None if level is None or level == ABSENT else percent_as_json(level)


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
