"""Say who changed one thing, when and to what."""

from pathlib import Path

import click
import msgspec

from showvault.cli.options import echo_folded, format_option, now, open_found_vault, vault_option


@click.command("history")
@click.argument("thing", nargs=-1, required=True)
@click.option("-n", "--limit", type=click.IntRange(min=1), metavar="N", help="The N newest only.")
@vault_option
@format_option()
def command(
    thing: tuple[str, ...], limit: int | None, vault_folder: Path | None, output: str
) -> int:
    """Say who changed THING, when and to what, back through its moves and renumberings.

    THING is said in plain words, without quotation marks; a cue is one of list 1 unless said. An
    attribute after it tells what became of that alone. Ends with 1 where no version has the thing.

    \b
    Examples:
      showvault history cue 12.5
      showvault history list 2 cue 5
      showvault history cue 12 intensity
      showvault history preset color 1.3
      showvault history fixture 101
    """
    from itertools import islice

    from showvault.flows.history import of_attribute, trace_thing
    from showvault.report.history import history_record, history_text
    from showvault.report.records import as_json
    from showvault.show.asking import AskingError, read_asking
    from showvault.vault.labels import read_labels

    asked = read_asking(" ".join(thing))
    wanted = asked.single()
    if wanted.kind == "fixture" and (asked.attribute or "." in wanted.id):
        raise AskingError(asked.words, "what it does is stored in cues; say the fixture alone")
    with open_found_vault(vault_folder) as vault:
        labels = read_labels(vault.store)
        moments = trace_thing(
            vault.store,
            wanted,
            lambda version: msgspec.structs.replace(version, labels=labels.get(version.commit, ())),
        )
        if asked.attribute:
            moments = of_attribute(moments, asked.attribute)
        found = list(islice(moments, limit))
        if output == "json":
            click.echo(as_json(history_record(wanted, found)))
        else:
            echo_folded(history_text(wanted, found, now()))
    return 0 if found else 1
