"""What the check found, as text."""

from collections import Counter
from collections.abc import Sequence

from showvault.check.finding import SEVERITIES, Finding
from showvault.report.terminal import fold_line, safe


def findings_text(findings: Sequence[Finding], width: int = 0) -> str:
    """Return the findings, worst first, and a line that counts them; 0 folds no line."""
    lines = [
        fold_line(f"{finding.severity:<8} {safe(finding.text)}  [{finding.rule}]", width, 9)
        for severity in SEVERITIES
        for finding in findings
        if finding.severity == severity
    ]
    counts = Counter(finding.severity for finding in findings)
    told = [
        f"{counts[name]} {name}{'s' * (counts[name] != 1)}" for name in SEVERITIES if counts[name]
    ]
    return "\n".join([*lines, ", ".join(told) if told else "nothing found to mend"])
