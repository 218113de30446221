"""Tell whether the show is protected."""

from pathlib import Path

import click

from showvault.cli.options import echo_folded, format_option, now, open_found_vault, vault_option


@click.command("status")
@vault_option
@format_option()
def command(vault_folder: Path | None, output: str) -> int:
    """Tell whether the show is protected, since when, by what and where; and what is wrong.

    Exit code 0: protected; 1: not protected.

    \b
    Examples:
      showvault status
      showvault status --format json
    """
    from showvault.flows.protection import look_at_protection

    with open_found_vault(vault_folder) as vault:
        protection = look_at_protection(vault)
    if output == "json":
        from showvault.report.protection import protection_record
        from showvault.report.records import as_json

        click.echo(as_json(protection_record(protection)))
    else:
        from showvault.report.protection import protection_text

        echo_folded(protection_text(protection, now()))
    return 0 if protection.protected else 1
