"""Options and output that every review of two shows shares."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

import click

from showvault.cli.options import format_option, now, vault_option
from showvault.cli.sources import Source, Sources
from showvault.compare.changes import Comparison
from showvault.flows.narrowing import Narrowing

F = TypeVar("F", bound=Callable[..., Any])

_OPTIONS = (
    click.option("--list", "lists", multiple=True, metavar="N", help="Only this cue list."),
    click.option(
        "--cues", default="", metavar="A-B", help="Only these cues, of list 1 unless said."
    ),
    click.option("--kind", "kinds", multiple=True, metavar="KIND", help="Only cues, presets …"),
    click.option("--fixtures", default="", metavar="A-B", help="Only these fixtures."),
    click.option("--group", "groups", multiple=True, metavar="N", help="Only a group's fixtures."),
    click.option("--exit-code", "ask", is_flag=True, help="End with 1 where anything differs."),
    vault_option,
    format_option("csv", "md"),
)


def review_options(command: F) -> F:
    """Add the options that narrow and print a review."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


@dataclass(frozen=True)
class Asking:
    """What the options say."""

    lists: tuple[str, ...]
    cues: str
    kinds: tuple[str, ...]
    fixtures: str
    groups: tuple[str, ...]
    ask: bool
    vault_folder: Path | None
    output: str


def review(old: str, new: str, asking: Asking) -> int:
    """Compare two sources and print the answer; return the exit code."""
    with Sources(asking.vault_folder) as sources:
        one, other = sources.find(old), sources.find(new)
        return print_review(sources, one, other, asking)


def print_review(sources: Sources, one: Source, other: Source, asking: Asking) -> int:
    """Print what leads from one source to the other; return the exit code."""
    from showvault.compare.differ import compare_shows

    mixed = one.version is not None or other.version is not None
    before = sources.parts(one, beside_a_version=mixed)
    after = sources.parts(other, beside_a_version=mixed)
    narrowing = Narrowing(
        asking.lists,
        asking.cues,
        asking.kinds,
        asking.fixtures,
        asking.groups,
        sources.left_out() if mixed else (),
    )
    comparison = narrowing.apply(compare_shows(before, after), before, after)
    click.echo(_answer(sources, one, other, comparison, asking.output))
    return 1 if asking.ask and comparison.changes else 0


def _answer(
    sources: Sources, one: Source, other: Source, comparison: Comparison, output: str
) -> str:
    from showvault.report.comparison import (
        comparison_csv,
        comparison_md,
        comparison_text,
        not_described_lines,
    )
    from showvault.report.protection import ahead_record
    from showvault.report.records import as_json
    from showvault.review.values import no_scales

    ahead = sources.not_described(one, other)
    if output == "json":
        from showvault.compare.json_form import comparison_as_json
        from showvault.review.wording import say_change

        return as_json(
            {
                "old": one.record(),
                "new": other.record(),
                "not_described": [ahead_record(lag) for lag in ahead],
                **comparison_as_json(comparison, say_change),
            }
        )
    if output == "csv":
        return comparison_csv(comparison)
    first = not_described_lines(ahead, now())
    if output == "md":
        return comparison_md(one.name, other.name, first, comparison, no_scales)
    return "\n".join([*first, comparison_text(one.name, other.name, comparison, no_scales)])
