"""Review everything since a time or a label."""

from typing import Any

import click

from showvault.cli.options import now
from showvault.cli.reviewing import Asking, print_review, review_options
from showvault.cli.sources import Source, Sources


@click.command("since")
@click.argument("moment", nargs=-1, required=True)
@click.option("--by", metavar="NAME", help="Only the versions that NAME made, one by one.")
@click.option("--until", default="latest", metavar="VERSION", help="Up to here; latest unless set.")
@review_options
def command(moment: tuple[str, ...], by: str | None, until: str, **options: Any) -> int:
    """Review what happened since MOMENT: a time such as 22:15 or yesterday 18:00, or a label.

    \b
    Examples:
      showvault since 22:15
      showvault since yesterday 18:00
      showvault since first preview --by Ada
    """
    from showvault.report.listing import say_version
    from showvault.report.terminal import safe
    from showvault.vault.asking import resolve

    asking = Asking(**options)
    with Sources(asking.vault_folder) as sources:
        store = sources.vault.store
        start = resolve(store, " ".join(moment), now=now())
        end = resolve(store, until, now=now())
        if by is None:
            return print_review(sources, _as_source(start), _as_source(end), asking)
        codes = []
        for before, after in sources.steps(start, end):
            if after.who.casefold() == by.casefold():
                click.echo(say_version(after, now()))
                codes.append(print_review(sources, _as_source(before), _as_source(after), asking))
    if not codes:
        click.echo(f"no version by {safe(by)} since then")
    return max(codes, default=0)


def _as_source(version: Any) -> Source:
    return Source(f"version {version.number}", version=version)
