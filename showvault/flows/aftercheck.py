"""The check of a show that has just been kept: never before, and never in the way."""

from collections import Counter
from collections.abc import Iterable

from showvault.check.finder import survey
from showvault.check.finding import Finding, Severity
from showvault.show.cutting import CutShow, join_parts

MOST_BYTES = 20_000_000
"""A larger show is checked when somebody asks for it: it would keep the watcher waiting."""

WORTH_TELLING: tuple[Severity, ...] = ("error", "warning")


def check_kept(cut: CutShow) -> str:
    """Return one sentence on what the check finds, empty where it finds no error or warning."""
    if sum(map(len, cut.parts.values())) > MOST_BYTES:
        return ""
    try:
        return _say(survey(join_parts(cut.skeleton, cut.parts)))
    except Exception as error:
        return f"the check could not be made: {type(error).__name__}"


def _say(findings: Iterable[Finding]) -> str:
    counts: Counter[Severity] = Counter()
    first: dict[Severity, str] = {}
    for finding in findings:  # none is held: a show under work may have very many
        counts[finding.severity] += 1
        first.setdefault(finding.severity, finding.text)
    told = [
        (f"{counts[name]} {name}{'s' * (counts[name] != 1)}", first[name])
        for name in WORTH_TELLING
        if counts[name]
    ]
    if not told:
        return ""
    numbers = ", ".join(number for number, _ in told)
    return f"the check finds {numbers} (showvault check latest); first: {told[0][1]}"
