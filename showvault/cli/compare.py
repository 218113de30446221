"""Say what differs between two shows."""

from pathlib import Path

import click

from showvault.cli.options import format_option, now, vault_option


@click.command("compare")
@click.argument("old")
@click.argument("new")
@click.option("--exit-code", "ask", is_flag=True, help="End with 1 where the two differ.")
@vault_option
@format_option()
def command(old: str, new: str, ask: bool, vault_folder: Path | None, output: str) -> int:
    """Say in lighting terms what leads from OLD to NEW.

    Both may be versions (a number, a label, `latest`, `previous`, a time such as 22:15) or show
    files.

    \b
    Examples:
      showvault compare previous latest
      showvault compare "yesterday 18:00" latest
      showvault compare evening.json morning.json --format json
    """
    from showvault.cli.sources import Sources
    from showvault.compare.differ import compare_shows
    from showvault.report.comparison import comparison_text
    from showvault.report.records import as_json
    from showvault.review.values import no_scales

    with Sources(vault_folder) as sources:
        one, other = sources.find(old), sources.find(new)
        mixed = one.version is not None or other.version is not None
        before = sources.parts(one, beside_a_version=mixed)
        after = sources.parts(other, beside_a_version=mixed)
        comparison = compare_shows(before, after)
        ahead = sources.not_described(one, other)
    if output == "json":
        from showvault.compare.json_form import comparison_as_json
        from showvault.report.protection import ahead_record
        from showvault.review.wording import say_change

        record = {
            "old": one.record(),
            "new": other.record(),
            "not_described": [ahead_record(lag) for lag in ahead],
            **comparison_as_json(comparison, say_change),
        }
        click.echo(as_json(record))
    else:
        from showvault.report.protection import say_ahead

        for lag in ahead:
            click.echo(say_ahead(lag, now()))
        click.echo(comparison_text(one.name, other.name, comparison, no_scales))
    return 1 if ask and comparison.changes else 0
