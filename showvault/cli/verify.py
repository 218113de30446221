"""Check a whole vault, and mend it."""

import time
from pathlib import Path

import click

from showvault.cli.options import (
    echo_folded,
    format_option,
    make_keeper,
    now,
    open_found_vault,
    vault_option,
)


@click.command("verify")
@click.option("--mend", is_flag=True, help="Mend what can be mended; nothing is deleted.")
@click.option(
    "--from",
    "clone",
    metavar="CLONE",
    type=click.Path(exists=True, file_okay=False, path_type=Path),
    help="With --mend: a clone of the history, to take from it what is gone here.",
)
@vault_option
@format_option()
def command(mend: bool, clone: Path | None, vault_folder: Path | None, output: str) -> int:
    """Read the whole vault back from the disk and say what is not as it was kept.

    With --mend, what is damaged is replaced by its second copy, or made anew from the plain copies
    in the ring; what neither holds is taken from a clone of the history, where one is named. Exit
    code 0: everything is as it was kept; 1: damage was found.

    \b
    Examples:
      showvault verify
      showvault verify --mend
      showvault verify --mend --from /media/stick/evening.git
    """
    if clone is not None and not mend:
        raise click.UsageError("--from CLONE goes with --mend")
    from showvault.flows.mending import Mended
    from showvault.flows.mending import mend as mend_vault
    from showvault.report.mending import mended_record, mended_text
    from showvault.report.records import as_json
    from showvault.vault.checking import check_vault

    progress = _Progress()
    with open_found_vault(vault_folder) as vault:
        if mend:
            keeper = make_keeper(vault, None)
            mended = mend_vault(keeper, when=now(), clone=clone, progress=progress)
        else:
            found = tuple(check_vault(vault, progress))
            mended = Mended(found, (), (), found)
    if output == "json":
        click.echo(as_json(mended_record(mended)))
    else:
        echo_folded(mended_text(mended, tried=mend))
    return 1 if mended.found else 0


class _Progress:
    """Says once a second what is being looked at; nothing when all is done in a second."""

    def __init__(self) -> None:
        self._next = time.monotonic() + 1.0

    def __call__(self, what: str, done: int, total: int) -> None:
        at = time.monotonic()
        if at >= self._next:
            self._next = at + 1.0
            count = f": {done} of {total}" if total > 1 else ""
            click.echo(f"looking at {what}{count} …", err=True)
