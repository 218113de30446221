"""Check a whole vault, and mend it."""

from pathlib import Path

import click

from showvault.cli.options import format_option, open_found_vault, vault_option


@click.command("verify")
@click.option("--mend", is_flag=True, help="Mend what can be mended; nothing is deleted.")
@vault_option
@format_option()
def command(mend: bool, vault_folder: Path | None, output: str) -> int:
    """Read the whole vault back from the disk and say what is not as it was kept.

    Exit code 0: everything is as it was kept; 1: damage was found.

    \b
    Examples:
      showvault verify
      showvault verify --mend
    """
    from showvault.report.records import as_json
    from showvault.report.terminal import safe
    from showvault.vault.checking import check_vault, mend_vault

    with open_found_vault(vault_folder) as vault:
        if output == "text":
            click.echo("reading the whole vault …", err=True)
        found = check_vault(vault)
        repairs = mend_vault(vault) if mend and found else []
        left = check_vault(vault) if repairs else found
    if output == "json":
        click.echo(
            as_json(
                {
                    "damage": [{"where": one.where, "text": str(one)} for one in found],
                    "repairs": [str(one) for one in repairs],
                    "left": [{"where": one.where, "text": str(one)} for one in left],
                }
            )
        )
        return 1 if found else 0
    for one in found:
        click.echo(f"damaged, {one.where}: {safe(str(one))}")
    for repair in repairs:
        click.echo(f"mended: {safe(str(repair))}")
    if not found:
        click.echo("everything is as it was kept")
    elif mend:
        click.echo(f"{len(left)} of {len(found)} are left" if left else "all of it is mended")
    else:
        click.echo("showvault verify --mend mends what can be mended; the ring holds plain copies")
    return 1 if found else 0
