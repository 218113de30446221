"""Bring a version back."""

from pathlib import Path

import click

from showvault.cli.options import (
    format_option,
    make_keeper,
    now,
    open_found_vault,
    vault_option,
    who_option,
)


@click.command("restore")
@click.argument("version")
@click.option(
    "--to",
    "target",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write to FILE instead of the file's own place.",
)
@click.option("--file", "name", metavar="NAME", help="Only this file of the version.")
@vault_option
@who_option
@format_option()
def command(
    version: str,
    target: Path | None,
    name: str | None,
    vault_folder: Path | None,
    who: str | None,
    output: str,
) -> None:
    """Write the very bytes of VERSION back: under their own names, or to FILE.

    VERSION is a number, a label, `latest`, `previous`, or a time such as 22:15 or "yesterday
    18:00" (the newest version at or before it). What stands there now is kept as a version first,
    and what comes back is a version too, so `showvault restore previous` undoes a restore.

    \b
    Examples:
      showvault restore previous
      showvault restore 22:15
      showvault restore 41 --to /media/stick/evening.json
    """
    from showvault.flows.restore import choose_file, restore_in_place, restore_to
    from showvault.report.outcomes import restored_record, restored_text
    from showvault.report.records import as_json
    from showvault.vault.asking import resolve

    with open_found_vault(vault_folder) as vault:
        found = resolve(vault.store, version, now=now())
        keeper = make_keeper(vault, who)
        if target is not None:
            chosen = choose_file(found, name)
            target = target.resolve()
            target = target / chosen.name if target.is_dir() else target
            restored = restore_to(keeper, found, chosen, target, when=now())
        else:
            files = [choose_file(found, name)] if name else found.files
            restored = restore_in_place(keeper, found, files, when=now())
        keeper.afterwards()
    click.echo(as_json(restored_record(restored)) if output == "json" else restored_text(restored))
