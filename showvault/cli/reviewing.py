"""Options and output that every review of two shows shares."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from showvault.cli.options import fold_width, format_option, now, vault_option
from showvault.cli.sources import Source, Sources
from showvault.flows.beside import FileChange
from showvault.flows.narrowing import Narrowing
from showvault.flows.protection import DeskFileAhead

if TYPE_CHECKING:
    from showvault.compare.patch_sheet import PatchComparison
    from showvault.flows.reviewing import Told

F = TypeVar("F", bound=Callable[..., Any])

_OPTIONS = (
    click.option("--list", "lists", multiple=True, metavar="N", help="Only this cue list."),
    click.option(
        "--cues", default="", metavar="A-B", help="Only these cues, of list 1 unless said."
    ),
    click.option("--kind", "kinds", multiple=True, metavar="KIND", help="Only cues, presets …"),
    click.option("--fixtures", default="", metavar="A-B", help="Only these fixtures."),
    click.option("--group", "groups", multiple=True, metavar="N", help="Only a group's fixtures."),
    click.option("--called", is_flag=True, help="Only what a stage manager calls differently."),
    click.option("--patch", is_flag=True, help="Only the patch, as the lines of a patch sheet."),
    click.option("--unfold", is_flag=True, help="Under each sentence the changes it stands for."),
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
    called: bool
    patch: bool
    unfold: bool
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
    from showvault.compare.patch_sheet import compare_patches
    from showvault.flows.reviewing import tell

    mixed = one.version is not None or other.version is not None
    before = sources.parts(one, beside_a_version=mixed)
    after = sources.parts(other, beside_a_version=mixed)
    narrowing = Narrowing(
        asking.lists,
        asking.cues,
        asking.kinds,
        asking.fixtures,
        asking.groups,
        asking.called,
        sources.left_out() if mixed else (),
    )
    whole = compare_shows(before, after)
    comparison = narrowing.apply(whole, before, after)
    ahead = sources.not_described(one, other)
    patches = compare_patches(before, after, comparison)
    if asking.patch:
        click.echo(_patch_answer(ahead, one, other, patches, asking))
        return 1 if asking.ask and patches.rows else 0
    told = tell(whole, comparison, before, after, narrowing)
    beside = sources.files_beside(one, other)
    click.echo(_answer(ahead, one, other, told, patches, beside, asking))
    seen = told.review is not None and told.review.effects
    return 1 if asking.ask and (comparison.changes or seen or beside) else 0


def _answer(
    ahead: list[DeskFileAhead],
    one: Source,
    other: Source,
    told: "Told",
    patches: "PatchComparison",
    beside: list[FileChange],
    asking: Asking,
) -> str:
    from showvault.report.beside import file_lines, file_records
    from showvault.report.comparison import (
        comparison_csv,
        comparison_md,
        comparison_text,
        left_out_lines,
    )
    from showvault.report.patch_sheet import newly_wrong
    from showvault.report.protection import ahead_record, say_ahead
    from showvault.report.records import as_json

    first = [say_ahead(lag, now()) for lag in ahead]
    match asking.output:
        case "json":
            from showvault.report.comparison import comparison_record
            from showvault.report.patch_sheet import patch_record

            return as_json(
                {
                    "old": one.record(),
                    "new": other.record(),
                    "not_described": [ahead_record(lag) for lag in ahead],
                    **comparison_record(told),
                    "patch": patch_record(patches),
                    "files": file_records(beside),
                }
            )
        case "csv":
            for line in (*first, *left_out_lines(told.comparison), *file_lines(beside)):
                click.echo(line, err=True)
            return comparison_csv(told)
        case "md":
            told_first = [*first, *newly_wrong(patches), *file_lines(beside)]
            return comparison_md(one.name, other.name, told_first, told)
        case _:
            text = comparison_text(
                one.name, other.name, told, unfolded=asking.unfold, width=fold_width()
            )
            wrong = (f"PATCH: {line}" for line in newly_wrong(patches))
            return "\n".join([*first, *wrong, text, *file_lines(beside)])


def _patch_answer(
    ahead: list[DeskFileAhead],
    one: Source,
    other: Source,
    patches: "PatchComparison",
    asking: Asking,
) -> str:
    from showvault.report.patch_sheet import (
        newly_wrong,
        patch_record,
        patch_sheet_csv,
        patch_sheet_md,
        patch_sheet_text,
    )
    from showvault.report.protection import say_ahead
    from showvault.report.records import as_json

    if asking.output == "json":
        record = {"old": one.record(), "new": other.record(), "patch": patch_record(patches)}
        return as_json(record)
    first = [say_ahead(lag, now()) for lag in ahead]
    match asking.output:
        case "csv":
            for line in (*first, *newly_wrong(patches)):
                click.echo(line, err=True)
            return patch_sheet_csv(patches)
        case "md":
            return patch_sheet_md(one.name, other.name, first, patches)
        case _:
            return "\n".join([*first, patch_sheet_text(one.name, other.name, patches)])
