"""What the check found, as text."""

from collections import Counter
from collections.abc import Sequence

from showvault.check.finding import SEVERITIES, Finding
from showvault.report.terminal import safe


def findings_text(findings: Sequence[Finding]) -> str:
    """Return the findings, worst first, and a line that counts them."""
    lines = [
        f"{finding.severity:<8} {safe(finding.text)}  [{finding.rule}]"
        for severity in SEVERITIES
        for finding in findings
        if finding.severity == severity
    ]
    counts = Counter(finding.severity for finding in findings)
    told = [
        f"{counts[name]} {name}{'s' * (counts[name] != 1)}" for name in SEVERITIES if counts[name]
    ]
    return "\n".join([*lines, ", ".join(told) if told else "nothing found to mend"])
