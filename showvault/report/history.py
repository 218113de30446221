"""The history of one thing, as text and as records."""

from collections.abc import Sequence
from datetime import datetime
from functools import partial
from typing import Any

from showvault.compare.json_form import change_as_json
from showvault.flows.history import Moment
from showvault.report.records import version_record
from showvault.report.terminal import safe, say_moment
from showvault.review.summary import say_comparison
from showvault.review.wording import say_change
from showvault.show.addressing import Thing, say_thing


def history_text(thing: Thing, moments: Sequence[Moment], now: datetime) -> str:
    """Return what changed of a thing, newest first, a line for each sentence."""
    if not moments:
        return f"there is no {safe(say_thing(thing))} in any version"
    lines = []
    for moment in moments:
        version = moment.version
        label = f" «{version.label}»" if version.label else ""
        lines.append(
            safe(f"{version.number}{label}  {say_moment(version.moment, now)}  {version.who}")
        )
        lines += [
            f"    {safe(sentence)}" for sentence in say_comparison(moment.comparison, moment.scales)
        ]
    return "\n".join(lines)


def history_record(thing: Thing, moments: Sequence[Moment]) -> dict[str, Any]:
    """Return the same for programs: each version with its changes of the thing."""
    return {
        "object": thing.kind,
        "id": thing.id,
        "list": thing.list or None,
        "history": [
            {
                "version": version_record(moment.version),
                "changes": [
                    change_as_json(change, partial(say_change, scales=moment.scales))
                    for change in moment.comparison.changes
                ],
            }
            for moment in moments
        ],
    }
