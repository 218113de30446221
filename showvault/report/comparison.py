"""A comparison as text: what differs, one sentence a line."""

from showvault.compare.changes import Comparison
from showvault.report.terminal import safe
from showvault.review.summary import say_comparison, summarise
from showvault.review.values import Scales


def comparison_text(old: str, new: str, comparison: Comparison, scales: Scales) -> str:
    """Return the comparison with a headline; every change is in exactly one sentence."""
    lines = [f"{safe(old)} → {safe(new)}: {safe(summarise(comparison))}"]
    lines += [f"  {safe(sentence)}" for sentence in say_comparison(comparison, scales)]
    if comparison.left_out:
        left_out = ", ".join(map(safe, comparison.left_out))
        lines.append(f"left out of this comparison, as the vault is set: {left_out}")
    return "\n".join(lines)
