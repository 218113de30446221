"""Print the JSON Schema of what showvault reads and writes."""

import click


@click.command("schema")
@click.argument("what", type=click.Choice(["show", "compare"]), default="show")
def command(what: str) -> None:
    """Print the JSON Schema (2020-12) of the neutral show, or of what compare prints as JSON.

    \b
    Examples:
      showvault schema > neutral-show.schema.json
      showvault schema compare
    """
    from showvault.report.records import as_json

    if what == "show":
        from showvault.show.writing import show_schema

        click.echo(as_json(show_schema()))
    else:
        from showvault.review.review_schema import review_schema

        click.echo(as_json(review_schema()))
