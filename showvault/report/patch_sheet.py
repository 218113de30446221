"""Two patches compared, as the lines of a patch sheet."""

import csv
import io
from collections.abc import Iterator, Sequence
from typing import Any

from showvault.compare.patch_lines import PatchLine, Span
from showvault.compare.patch_sheet import PatchComparison, PatchRow
from showvault.report.comparison import as_md_list, cell, md
from showvault.report.terminal import safe
from showvault.review.ranges import say_fixtures


def patch_sheet_text(old: str, new: str, patches: PatchComparison) -> str:
    """Return what differs, fixture by fixture, and what goes wrong only now."""
    count = len(patches.rows)
    said = f"{count} {'fixture differs' if count == 1 else 'fixtures differ'}" if count else "same"
    lines = [f"patch, {safe(old)} → {safe(new)}: {said}"]
    lines += [f"  {safe(line)}" for line in (*_rows(patches), *_moves(patches), *_wrong(patches))]
    return "\n".join(lines)


PATCH_COLUMNS = (
    *("fixture", "kind", "addresses", "non_dim"),
    *("fixture_after", "kind_after", "addresses_after", "non_dim_after"),
)


def patch_sheet_csv(patches: PatchComparison) -> str:
    """Return one row a fixture that differs: before, and after."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(PATCH_COLUMNS)
    for row in patches.rows:
        writer.writerow([cell(text) for line in (row.before, row.after) for text in _texts(line)])
    return out.getvalue().rstrip("\n")


def patch_sheet_md(old: str, new: str, first: Sequence[str], patches: PatchComparison) -> str:
    """Return the patch sheet as Markdown: what goes wrong only now, then a table."""
    lines = [f"# Patch, {md(old)} → {md(new)}", ""]
    lines += as_md_list([*first, *(f"  {line}" for line in (*_wrong(patches), *_moves(patches)))])
    lines += ["", "| fixture | before | after |", "|---|---|---|"]
    for row in patches.rows:
        number, *_ = _texts(row.after or row.before)
        lines.append(f"| {md(number)} | {_md_line(row.before)} | {_md_line(row.after)} |")
    return "\n".join(lines)


def _texts(line: PatchLine | None) -> tuple[str, str, str, str]:
    if line is None:
        return "", "", "", ""
    return line.number, _say_kind(line), _say_spans(line), "yes" if line.non_dim else ""


def _md_line(line: PatchLine | None) -> str:
    number, kind, spans, non_dim = _texts(line)
    told = [*(kind, spans), "non-dim"] if non_dim else [kind, spans]
    return md(f"{number}: {'; '.join(told)}") if line is not None else "–"


def newly_wrong(patches: PatchComparison) -> list[str]:
    """Return what goes wrong in the patch only now: overlaps, exchanged circuits, capacities."""
    return [safe(line) for line in _wrong(patches)]


def patch_record(patches: PatchComparison) -> dict[str, Any]:
    """Return the patch comparison for programs: its rows and what is newly wrong."""
    return {
        "rows": [
            {"before": _line_record(row.before), "after": _line_record(row.after)}
            for row in patches.rows
        ],
        "universe_moves": [
            {"from": move.from_, "to": move.to, "fixtures": list(move.fixtures)}
            for move in patches.universe_moves
        ],
        "newly_wrong": list(_wrong(patches)),
    }


def _line_record(line: PatchLine | None) -> dict[str, Any] | None:
    if line is None:
        return None
    return {
        "fixture": line.number,
        "kind": _say_kind(line),
        "places": _say_spans(line),
        "non_dim": line.non_dim,
    }


def _rows(patches: PatchComparison) -> Iterator[str]:
    for row in patches.rows:
        match row:
            case PatchRow(before=None, after=PatchLine() as line):
                yield f"fixture {line.number} is new: {_say_kind(line)}, {_say_spans(line)}"
            case PatchRow(before=PatchLine() as line, after=None):
                yield f"fixture {line.number} is gone: {_say_kind(line)}, {_say_spans(line)}"
            case PatchRow(before=PatchLine() as one, after=PatchLine() as other):
                yield f"fixture {_say_change(one, other)}"


def _say_change(one: PatchLine, other: PatchLine) -> str:
    number = one.number if one.number == other.number else f"{one.number} → {other.number}"
    kinds, places = (_say_kind(one), _say_kind(other)), (_say_spans(one), _say_spans(other))
    parts = [f"{was} → {now}" for was, now in (kinds, places) if was != now]
    if one.non_dim != other.non_dim:
        parts.append("now non-dim" if other.non_dim else "no longer non-dim")
    return f"{number}: {'; '.join(parts) or 'other hazards'}"


def _moves(patches: PatchComparison) -> Iterator[str]:
    for move in patches.universe_moves:
        yield f"universe {move.from_} → {move.to}: {say_fixtures(move.fixtures)}"


def _wrong(patches: PatchComparison) -> Iterator[str]:
    """Yield what was not wrong before, each with the place to look at."""
    for overlap in patches.overlaps:
        one, other = overlap.fixtures
        place = _say_range(overlap.universe, overlap.first, overlap.last)
        yield f"overlap: fixtures {one} and {other} at {place}"
    for past in patches.past_the_end:
        yield f"past address 512: fixture {past.fixture} at {_say_span(past.span)}"
    for exchange in patches.exchanged:
        place = _say_range(exchange.universe, exchange.first, exchange.last)
        way = "dimmed circuit is now non-dim" if exchange.now_non_dim else "non-dim is now dimmed"
        yield f"{way} at {place}: this can destroy a lamp or a motor"
    for beyond in patches.beyond_capacity:
        yield (
            f"universe {beyond.universe} is more than the desk's {beyond.capacity}: "
            f"{say_fixtures(beyond.fixtures)}"
        )


def _say_kind(line: PatchLine) -> str:
    return f"{line.type}, {line.mode}" if line.mode else line.type


def _say_spans(line: PatchLine) -> str:
    return ", ".join(map(_say_span, line.spans)) or "not patched"


def _say_span(span: Span) -> str:
    return _say_range(span.universe, span.address, max(span.address, span.last))


def _say_range(universe: int, first: int, last: int) -> str:
    addresses = f"address {first}" if first == last else f"addresses {first}–{last}"
    return f"universe {universe} {addresses}"
