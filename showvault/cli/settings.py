"""See and change what is set for one vault."""

from pathlib import Path

import click
import msgspec

from showvault.cli.options import format_option, open_found_vault, vault_option, warn


@click.command("settings")
@click.option("--keep", type=click.IntRange(1, 10_000), metavar="N", help="Copies in the ring.")
@click.option(
    "--remind", type=click.IntRange(min=1), metavar="MINUTES", help="Speak up without a save."
)
@click.option(
    "--leave-out",
    "leave_out",
    multiple=True,
    metavar="FIELD",
    help="Leave a field out of comparisons, such as extra.saved_at; it is kept all the same.",
)
@click.option(
    "--take-in",
    "take_in",
    multiple=True,
    metavar="FIELD",
    help="Compare a field again that was left out.",
)
@click.option(
    "--read",
    "read",
    multiple=True,
    metavar="READER.OPTION=VALUE",
    help="How a source is read, as in convert; an empty VALUE is as usual.",
)
@vault_option
@format_option()
def command(
    keep: int | None,
    remind: int | None,
    leave_out: tuple[str, ...],
    take_in: tuple[str, ...],
    read: tuple[str, ...],
    vault_folder: Path | None,
    output: str,
) -> None:
    """See what is set for a vault, or change it.

    \b
    Examples:
      showvault settings
      showvault settings --keep 20
      showvault settings --leave-out extra.saved_at
      showvault settings --read ascii.cues=moves
    """
    from showvault.interchange.as_set import say_options, with_option
    from showvault.interchange.registry import installed_registry
    from showvault.report.records import as_json
    from showvault.report.terminal import safe
    from showvault.show.fieldnames import require_field
    from showvault.vault.layout import read_vault_file, write_vault_file

    for path in leave_out:
        require_field(path)
    with open_found_vault(vault_folder) as vault, vault.writing("changing the settings"):
        described = read_vault_file(vault.folder)
        before = described.settings
        ignored = [field for field in (*before.ignore, *leave_out) if field not in take_in]
        readers = before.reader_options
        for text in read:
            readers = with_option(readers, text, installed_registry(warn))
        after = msgspec.structs.replace(
            before,
            keep=before.keep if keep is None else keep,
            remind_minutes=before.remind_minutes if remind is None else remind,
            ignore=tuple(dict.fromkeys(ignored)),
            reader_options=readers,
        )
        if after != before:
            write_vault_file(vault.folder, msgspec.structs.replace(described, settings=after))
    if output == "json":
        click.echo(as_json({"vault": str(vault.folder), **msgspec.to_builtins(after)}))
        return
    left_out = ", ".join(map(safe, after.ignore)) or "nothing"
    click.echo(f"vault: {safe(str(vault.folder))}")
    click.echo(f"copies in the ring: {after.keep}, and one an hour for the last twelve hours")
    click.echo(f"reminds after {after.remind_minutes} minutes without a save")
    click.echo(f"left out of comparisons: {left_out}")
    for name, chosen in sorted(after.reader_options.items()):
        click.echo(f"{safe(name)} files are read with {safe(say_options(chosen))}")
    if after.reader_options != before.reader_options:
        click.echo("versions that were read otherwise are read again when they are compared")
