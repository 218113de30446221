"""A comparison as text, as a table for spreadsheets and as Markdown."""

import csv
import io
import re
from collections.abc import Sequence
from functools import partial
from typing import Any

from showvault.compare.changes import Comparison
from showvault.compare.json_form import change_as_json, comparison_as_json
from showvault.flows.reviewing import Told
from showvault.report.records import as_json_line
from showvault.report.terminal import fold_line, safe
from showvault.review.field_folding import say_cause
from showvault.review.folding import unfold
from showvault.review.level_folding import Sentence
from showvault.review.message import say_cue_counts
from showvault.review.narrowing import causes_outside
from showvault.review.review_json import review_as_json
from showvault.review.summary import NOTHING_CHANGED, count_changed
from showvault.review.watching import warn_first, watch_first
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
MOST_WARNINGS = 8
_TITLES = {
    "looks": "LOOKS DIFFERENT",
    "plays": "PLAYS DIFFERENTLY",
    "neither": "NO DIFFERENCE ON STAGE",
}
_LIVE = ("=", "+", "-", "@", "\t", "\r")
_MARKDOWN = re.compile(r"([\\`*_{}\[\]<>#|!])")


def comparison_text(old: str, new: str, told: Told, *, unfolded: bool, width: int) -> str:
    """Return a review on a page: what to watch first, then what differs, worst first.

    Every change is in exactly one sentence; ``unfolded`` lists under each what it stands for.
    """
    lines = [safe(f"{old} → {new}: {_say_first(told)}")]
    lines += [safe(line) for line in _ahead_of_all(told)]
    lines += [safe(line) for line in _outside(told)]
    for title, sentences in _sections(told):
        lines += ["", f"{title} ({_number(len(sentences), 'sentence')})" if title else ""]
        for sentence in sentences:
            lines.append(f"  {safe(sentence.text)}")
            if unfolded:
                changes = unfold(sentence, told.comparison)
                lines += [f"      {safe(say_change(change, told.scales))}" for change in changes]
    lines += left_out_lines(told.comparison)
    return "\n".join(fold_line(line, width) for line in lines)


def comparison_md(old: str, new: str, first: Sequence[str], told: Told) -> str:
    """Return the review as Markdown; nothing in a label is taken for markup."""
    lines = [f"# {md(old)} → {md(new)}", "", *as_md_list([*first, _say_first(told)])]
    lines += as_md_list([*_ahead_of_all(told), *_outside(told)])
    for title, sentences in _sections(told):
        lines += ["", f"## {title or 'Changes'}", ""]
        lines += [f"- {md(sentence.text)}" for sentence in sentences]
    return "\n".join([*lines, "", *as_md_list(left_out_lines(told.comparison))]).rstrip()


def as_md_list(lines: Sequence[str]) -> list[str]:
    """Return lines as paragraphs, those that are set in as the points of a list."""
    points: list[str] = []
    for line in lines:
        if line.startswith("  "):
            points.append(f"- {md(line.strip())}")
        else:
            points += ["", md(line), ""]
    return [line for line, before in zip(points, ["", *points], strict=False) if line or before]


def _ahead_of_all(told: Told) -> list[str]:
    """Say what to watch first, and what may hurt or hide something."""
    if told.review is None:
        return [f"what looks different is not known: {told.not_reviewed}"] * bool(told.not_reviewed)
    watch = [f"  {watch.text}" for watch in watch_first(told.review)]
    warnings = warn_first(told.review)
    more = len(warnings) - MOST_WARNINGS
    shown = [f"  {warning}" for warning in warnings[:MOST_WARNINGS]]
    if more > 0:
        shown.append(f"  … and {more} more (--format json has them all)")
    return [*(["watch first:"] if watch else []), *watch, *(["mind:"] if shown else []), *shown]


def _outside(told: Told) -> list[str]:
    """Name the edits outside what was asked for that make it look different."""
    causes = causes_outside(told.review) if told.review is not None else []
    if told.review is None or not causes:
        return []
    named = [f"  {say_cause(told.review, thing)}" for thing in causes]
    return [
        "different here by edits that were not asked for (without the filter they are told):",
        *named,
    ]


def _sections(told: Told) -> list[tuple[str, list[Sentence]]]:
    if told.review is None:
        return [("", list(told.sentences))] if told.sentences else []
    by_kind = {kind: [one for one in told.sentences if one.kind == kind] for kind in _TITLES}
    return [(_TITLES[kind], found) for kind, found in by_kind.items() if found]


def _say_first(told: Told) -> str:
    counts = say_cue_counts(told.review) if told.review is not None else []
    if not told.comparison.changes and counts:
        return f"nothing was edited there, and {', '.join(counts)}"
    if not told.comparison.changes and told.others:
        others = _number(told.others, "other change")
        return f"nothing of what was asked for changed ({others})"
    return say_counts(told.comparison)


def say_counts(comparison: Comparison) -> str:
    """Count what changed: "71 cues, 7 presets, 16 fixtures; 312 changes"."""
    if not comparison.changes:
        return NOTHING_CHANGED
    return f"{count_changed(comparison)}; {_number(len(comparison.changes), 'change')}"


def _number(count: int, noun: str) -> str:
    return f"{count} {noun}{'' if count == 1 else 's'}"


def comparison_csv(told: Told) -> str:
    """Return one row a change; text that a spreadsheet could take for a formula is made inert."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for change in told.comparison.changes:
        record = change_as_json(change, partial(say_change, scales=told.scales))
        writer.writerow([cell(record.get(column)) for column in COLUMNS])
    return out.getvalue().rstrip("\n")


def comparison_record(told: Told) -> dict[str, Any]:
    """Return the comparison and what it means on stage, for programs."""
    changes = comparison_as_json(told.comparison, partial(say_change, scales=told.scales))
    if told.review is not None:
        return {**changes, **review_as_json(told.review, told.sentences)}
    sentences = [{"text": one.text, "changes": list(one.changes)} for one in told.sentences]
    unknown = told.not_reviewed or None
    return {**changes, "on_stage": [], "plays": [], "sentences": sentences, "not_reviewed": unknown}


def left_out_lines(comparison: Comparison) -> list[str]:
    """Say which fields differ and are left out, as the vault is set."""
    if not comparison.left_out:
        return []
    names = ", ".join(map(safe, comparison.left_out))
    return [f"left out of this comparison, as the vault is set: {names}"]


def cell(value: Any) -> Any:
    """Return a value for a spreadsheet; what it could take for a formula is made inert."""
    if value is None or isinstance(value, int | float):
        return value
    if not isinstance(value, str):
        text = as_json_line(value)
        return text if not text.startswith(_LIVE) or _is_number(text) else "'" + text
    text = safe(value)
    return "'" + text if text.startswith(_LIVE) else text


def _is_number(text: str) -> bool:
    return re.fullmatch(r"-?[0-9.eE+-]+", text) is not None


def md(text: str) -> str:
    """Return text of the show for Markdown: nothing in it is taken for markup."""
    return _MARKDOWN.sub(r"\\\1", safe(text))
