"""Undo one edit."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from showvault.cli.options import (
    echo_folded,
    format_option,
    make_keeper,
    now,
    open_found_vault,
    vault_option,
    who_option,
)

LONGEST = 7
"""Digits that no number of a change has."""

if TYPE_CHECKING:
    from showvault.compare.changes import Comparison
    from showvault.merge.conflicts import Choice, Decide
    from showvault.report.merging import Outcome
    from showvault.vault.versions import Version


@click.command("undo")
@click.argument("version")
@click.option(
    "--change",
    "chosen_numbers",
    multiple=True,
    metavar="N",
    help="Only these changes, by their numbers: 3, or 3-14,20; may be given several times.",
)
@click.option(
    "--take",
    type=click.Choice(["mine", "theirs", "base"]),
    help="Where later edits stand on it: mine keeps them, theirs undoes all the same.",
)
@click.option("--dry-run", is_flag=True, help="List the changes by number; write nothing.")
@click.option("--unfold", is_flag=True, help="List every change by itself.")
@click.option("--yes", is_flag=True, help="Do not ask before all of a version is undone.")
@vault_option
@who_option
@format_option()
def command(
    version: str,
    chosen_numbers: tuple[str, ...],
    take: "Choice | None",
    dry_run: bool,
    unfold: bool,
    yes: bool,
    vault_folder: Path | None,
    who: str | None,
    output: str,
) -> int:
    """Undo what VERSION changed, or chosen changes of it, in the show as it is now.

    The numbers are those of the changes as `compare --format json` lists them from the version
    before to VERSION; --dry-run lists them too, what belongs together in one line, and with
    --unfold one by one. What was edited later stays. On a terminal you are asked before all of a
    version is undone.

    Exit code 0: undone; 1: nothing was written, because later edits stand on it, each listed, or
    because you said no.

    \b
    Examples:
      showvault undo 41 --dry-run
      showvault undo 41 --dry-run --unfold
      showvault undo 41 --change 3-14,20
      showvault undo latest
    """
    from showvault.cli.sources import reading_again
    from showvault.compare.differ import compare_shows
    from showvault.flows.narrowing import Narrowing
    from showvault.flows.outcomes import AlreadySo
    from showvault.flows.reviewing import tell
    from showvault.flows.rewriting import read_current, replace_current
    from showvault.flows.undo import NothingToUndoError, choose_changes, undo
    from showvault.merge.conflicts import always, leave_open
    from showvault.report.merging import (
        undone_folded_text,
        undone_record,
        undone_text,
        written_lines,
    )
    from showvault.report.records import as_json
    from showvault.vault.asking import resolve
    from showvault.vault.versions import list_versions

    numbers = _read_numbers(chosen_numbers)
    decide: Decide = always(take) if take else leave_open
    with open_found_vault(vault_folder) as vault:
        found = resolve(vault.store, version, now=now())
        earlier = (
            one
            for one in list_versions(vault.store)
            if one.number < found.number and one.good and one.show_file is not None
        )
        before = next(earlier, None)
        if before is None:
            raise NothingToUndoError(found.number)
        again = reading_again(vault)
        sides = [again.parts(one) for one in (before, found)]
        whole = compare_shows(sides[0], sides[1])
        chosen = choose_changes(whole, numbers, found.number)
        keeper = make_keeper(vault, who)
        current = read_current(keeper)
        undone = undo(again.show(found), chosen, current, decide)
        asks = not (numbers or dry_run or yes) and sys.stdin.isatty()
        if output == "text" or asks:
            if numbers or unfold:
                counted = numbers or range(1, len(whole.changes) + 1)
                text = undone_text(undone, list(counted))
            else:
                told = tell(whole, chosen, sides[0], sides[1], Narrowing())
                text = undone_folded_text(undone, told.sentences)
            if output == "text":
                echo_folded(text)
            else:
                click.echo(text, err=True)
        written: Outcome = None
        if undone.data == current.file.data and not undone.conflicts:
            written = AlreadySo(current.file.path)
        elif not (undone.conflicts or dry_run or (asks and not _is_meant(chosen, found))):
            summary = f"{len(chosen.changes)} changes of version {found.number} undone"
            written = replace_current(keeper, current, undone.data, summary, when=now())
            keeper.afterwards()
    if output == "json":
        click.echo(as_json(undone_record(undone, written)))
    else:
        echo_folded("\n".join(written_lines(written)))
    return 1 if undone.conflicts or (written is None and not dry_run) else 0


def _read_numbers(texts: tuple[str, ...]) -> list[int]:
    """Return the numbers of changes that were chosen, in order: "3", "3-14,20"."""
    numbers: set[int] = set()
    for piece in ",".join(texts).replace("–", "-").split(",") if texts else ():
        first, _, last = piece.strip().partition("-")
        ends = [first.strip(), last.strip() or first.strip()]
        sound = all(end.isdecimal() and len(end) < LONGEST for end in ends)
        if not sound or int(ends[0]) > int(ends[1]):
            raise click.BadParameter(f"{piece!r} is no number of a change; such as 3 or 3-14,20")
        numbers |= set(range(int(ends[0]), int(ends[1]) + 1))
    return sorted(numbers)


def _is_meant(chosen: "Comparison", version: "Version") -> bool:
    """Ask whether all of a version is to be undone."""
    count = len(chosen.changes)
    changes = "the one change" if count == 1 else f"all {count} changes"
    return click.confirm(f"undo {changes} of version {version.number}?", err=True)
