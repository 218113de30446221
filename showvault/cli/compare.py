"""Say what differs between two shows."""

from typing import Any

import click

from showvault.cli.reviewing import Asking, review, review_options


@click.command("compare")
@click.argument("old")
@click.argument("new")
@review_options
def command(old: str, new: str, **options: Any) -> int:
    """Say in lighting terms what leads from OLD to NEW.

    Both may be versions (a number, a label, `latest`, `previous`, a time such as 22:15) or show
    files.

    \b
    Examples:
      showvault compare previous latest
      showvault compare "yesterday 18:00" latest --cues 12-20
      showvault compare evening.json morning.json --format json
    """
    return review(old, new, Asking(**options))
