"""Give a version a name."""

import os
from pathlib import Path

import click

from showvault.cli.options import now, open_found_vault, vault_option, warn, who_option


@click.command("label")
@click.argument("version")
@click.argument("text", nargs=-1, required=True)
@click.option("--remove", is_flag=True, help="Take this name off the version.")
@vault_option
@who_option
def command(
    version: str, text: tuple[str, ...], remove: bool, vault_folder: Path | None, who: str | None
) -> None:
    """Give VERSION a name, by which it can be asked for from then on.

    VERSION is a number, a name, `latest`, `previous`, or a time such as 22:15.

    \b
    Examples:
      showvault label latest second preview
      showvault label 22:15 before the notes
      showvault label "second preview" --remove second preview
    """
    from showvault.flows.naming import give_name, on_one_line
    from showvault.flows.who import find_who
    from showvault.report.terminal import safe
    from showvault.vault.asking import resolve
    from showvault.vault.labelling import remove_label

    name = on_one_line(text)
    with open_found_vault(vault_folder) as vault:
        found = resolve(vault.store, version, now=now())
        labeller = find_who(who, os.environ)
        if remove:
            remove_label(vault, name, who=labeller)
        else:
            give_name(vault, found, name, who=labeller)
            meant = resolve(vault.store, name, now=now())
            if meant.commit != found.commit:
                warn(
                    f"{name!r} asked for goes on meaning version {meant.number}: no name wins "
                    "over a number, `latest` or `previous`"
                )
    what = "is no longer called" if remove else "is called"
    click.echo(f"version {found.number} {what} «{safe(name)}»")
