"""The check of a show that has just been kept: never before, and never in the way."""

from collections import Counter
from collections.abc import Sequence

from showvault.check.finder import find_problems
from showvault.check.finding import Finding
from showvault.show.cutting import CutShow, join_parts

MOST_BYTES = 20_000_000
"""A larger show is checked when somebody asks for it: it would keep the watcher waiting."""


def check_kept(cut: CutShow) -> str:
    """Return one sentence on what the check finds, empty where it finds no error or warning."""
    if sum(map(len, cut.parts.values())) > MOST_BYTES:
        return ""
    try:
        return _say(find_problems(join_parts(cut.skeleton, cut.parts)))
    except Exception as error:
        return f"the check could not be made: {type(error).__name__}"


def _say(findings: Sequence[Finding]) -> str:
    counts = Counter(finding.severity for finding in findings)
    if not counts["error"] and not counts["warning"]:
        return ""
    told = [
        f"{counts[name]} {name}{'s' * (counts[name] != 1)}"
        for name in ("error", "warning")
        if counts[name]
    ]
    worst = min(findings, key=lambda finding: finding.severity != "error")
    return f"the check finds {', '.join(told)} (showvault check latest); first: {worst.text}"
