"""Undo one edit."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from showvault.cli.options import (
    format_option,
    make_keeper,
    now,
    open_found_vault,
    vault_option,
    who_option,
)

if TYPE_CHECKING:
    from showvault.merge.conflicts import Choice, Decide


@click.command("undo")
@click.argument("version")
@click.option(
    "--change",
    "numbers",
    type=click.IntRange(min=1),
    multiple=True,
    metavar="N",
    help="Only this change, by its number; may be given several times.",
)
@click.option(
    "--take",
    type=click.Choice(["mine", "theirs", "base"]),
    help="Where later edits stand on it: mine keeps them, theirs undoes all the same.",
)
@click.option("--dry-run", is_flag=True, help="List the changes by number; write nothing.")
@vault_option
@who_option
@format_option()
def command(
    version: str,
    numbers: tuple[int, ...],
    take: "Choice | None",
    dry_run: bool,
    vault_folder: Path | None,
    who: str | None,
    output: str,
) -> int:
    """Undo what VERSION changed, or chosen changes of it, in the show as it is now.

    The numbers are those of the changes as `compare --format json` lists them from the version
    before to VERSION; --dry-run lists them too. What was edited later stays.

    Exit code 0: undone; 1: later edits stand on it, each listed, and nothing was written.

    \b
    Examples:
      showvault undo 41 --dry-run
      showvault undo 41 --change 3
      showvault undo latest
    """
    from showvault.compare.differ import compare_shows
    from showvault.flows.rewriting import read_current, replace_current
    from showvault.flows.stored import parts_of_version, show_of_version
    from showvault.flows.undo import NothingToUndoError, choose_changes, undo
    from showvault.merge.conflicts import always, leave_open
    from showvault.report.merging import undone_record, undone_text
    from showvault.report.records import as_json
    from showvault.vault.asking import resolve
    from showvault.vault.versions import list_versions

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
        store = vault.store
        whole = compare_shows(parts_of_version(store, before), parts_of_version(store, found))
        chosen = choose_changes(whole, numbers, found.number)
        keeper = make_keeper(vault, who)
        current = read_current(keeper)
        undone = undo(show_of_version(store, found), chosen, current, decide)
        written = None
        if not dry_run and not undone.conflicts:
            summary = f"{len(chosen.changes)} changes of version {found.number} undone"
            written = replace_current(keeper, current, undone.data, summary, when=now())
            keeper.afterwards()
    if output == "json":
        click.echo(as_json(undone_record(undone, written)))
    else:
        counted = sorted(set(numbers)) or range(1, len(whole.changes) + 1)
        click.echo(undone_text(undone, list(counted), written))
    return 1 if undone.conflicts else 0
