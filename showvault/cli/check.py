"""Check a show."""

from pathlib import Path

import click

from showvault.cli.options import fold_width, format_option, vault_option


@click.command("check")
@click.argument("show", metavar="SHOW")
@vault_option
@format_option()
def command(show: str, vault_folder: Path | None, output: str) -> int:
    """Look for what is wrong in SHOW: a show file, or a version of the vault.

    Exit code 0: no errors (there may be warnings and notes); 1: errors were found.

    \b
    Examples:
      showvault check evening.json
      showvault check latest
      showvault check 22:15 --format json
    """
    from showvault.check.finder import find_problems_of_file
    from showvault.cli.sources import read_show
    from showvault.report.findings import findings_text
    from showvault.report.records import as_json

    findings = find_problems_of_file(read_show(show, vault_folder))
    if output == "json":
        click.echo(as_json({"findings": findings}))
    else:
        click.echo(findings_text(findings, fold_width()))
    return 1 if any(finding.severity == "error" for finding in findings) else 0
