"""A comparison as text, as a table for spreadsheets and as Markdown."""

import csv
import io
import re
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from showvault.compare.changes import Comparison
from showvault.compare.json_form import change_as_json
from showvault.flows.protection import DeskFileAhead
from showvault.report.protection import say_ahead
from showvault.report.records import as_json_line
from showvault.report.terminal import safe
from showvault.review.summary import say_comparison, summarise
from showvault.review.values import Scales
from showvault.review.wording import say_change

COLUMNS = (
    "object",
    "list",
    "id",
    "from",
    "change",
    "part",
    "fixture",
    "attribute",
    "field",
    "before",
    "after",
    "text",
)
_LIVE = ("=", "+", "-", "@", "\t", "\r")
_MARKDOWN = re.compile(r"([\\`*_{}\[\]<>#|!])")


def comparison_text(old: str, new: str, comparison: Comparison, scales: Scales) -> str:
    """Return the comparison with a headline; every change is in exactly one sentence."""
    lines = [f"{safe(old)} → {safe(new)}: {safe(summarise(comparison))}"]
    lines += [f"  {safe(sentence)}" for sentence in say_comparison(comparison, scales)]
    return "\n".join([*lines, *_left_out_lines(comparison)])


def comparison_md(
    old: str, new: str, first: Sequence[str], comparison: Comparison, scales: Scales
) -> str:
    """Return the comparison as Markdown; nothing in a label is taken for markup."""
    lines = [f"# {_md(old)} → {_md(new)}", "", *map(_md, first), _md(summarise(comparison)), ""]
    lines += [f"- {_md(sentence)}" for sentence in say_comparison(comparison, scales)]
    return "\n".join([*lines, *map(_md, _left_out_lines(comparison))])


def comparison_csv(comparison: Comparison) -> str:
    """Return one row a change; text that a spreadsheet could take for a formula is made inert."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for change in comparison.changes:
        record = change_as_json(change, say_change)
        writer.writerow([_cell(record.get(column)) for column in COLUMNS])
    return out.getvalue().rstrip("\n")


def not_described_lines(ahead: Sequence[DeskFileAhead], now: datetime) -> list[str]:
    """Say what a comparison does not describe, before it says anything else."""
    return [say_ahead(lag, now) for lag in ahead]


def _left_out_lines(comparison: Comparison) -> list[str]:
    if not comparison.left_out:
        return []
    names = ", ".join(map(safe, comparison.left_out))
    return [f"left out of this comparison, as the vault is set: {names}"]


def _cell(value: Any) -> Any:
    if value is None or isinstance(value, int | float):
        return value
    if not isinstance(value, str):
        text = as_json_line(value)
        return text if not text.startswith(_LIVE) or _is_number(text) else "'" + text
    text = safe(value)
    return "'" + text if text.startswith(_LIVE) else text


def _is_number(text: str) -> bool:
    return re.fullmatch(r"-?[0-9.eE+-]+", text) is not None


def _md(text: str) -> str:
    return _MARKDOWN.sub(r"\\\1", safe(text))
