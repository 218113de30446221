"""List the versions."""

from pathlib import Path

import click

from showvault.cli.options import format_option, now, open_found_vault, screen_width, vault_option


@click.command("list")
@vault_option
@click.option(
    "-n",
    "--limit",
    type=click.IntRange(min=1),
    default=None,
    metavar="N",
    help="Only the N newest; as text 20 unless set.",
)
@click.option("--all", "everything", is_flag=True, help="As text too, every version.")
@format_option()
def command(vault_folder: Path | None, limit: int | None, everything: bool, output: str) -> None:
    """List what was kept, newest first.

    \b
    Examples:
      showvault list
      showvault list -n 5
      showvault list --format json
    """
    from showvault.report.listing import listing_text
    from showvault.report.records import as_json, version_record
    from showvault.vault.versions import list_versions

    if output == "text" and limit is None and not everything:
        limit = 20
    with open_found_vault(vault_folder) as vault:
        versions = list_versions(vault.store, limit)
    if output == "json":
        click.echo(as_json([version_record(version) for version in versions]))
    else:
        click.echo(listing_text(versions, now(), screen_width()))
