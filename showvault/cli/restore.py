"""Bring a version back."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from showvault.cli.options import (
    echo_folded,
    format_option,
    make_keeper,
    now,
    open_found_vault,
    vault_option,
    warn,
    who_option,
)
from showvault.errors import ShowvaultError

if TYPE_CHECKING:
    from showvault.flows.bring_back import Neighbours
    from showvault.flows.keep import Keeper
    from showvault.flows.restore import Restored
    from showvault.merge.bringing import Needs
    from showvault.report.merging import Outcome


@click.command("restore")
@click.argument("version")
@click.argument("thing", nargs=-1)
@click.option(
    "--to",
    "target",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write to FILE instead of the file's own place.",
)
@click.option("--file", "name", metavar="NAME", help="Only this file of the version.")
@click.option(
    "--needs",
    type=click.Choice(["bring", "values", "refuse"]),
    default="bring",
    show_default=True,
    help="What to do where THING needs what is gone: bring it too, store plain values, refuse.",
)
@click.option("--keep-looks", is_flag=True, help="Add stores so that no other cue looks different.")
@click.option("--dry-run", is_flag=True, help="Say what THING would change; write nothing.")
@vault_option
@who_option
@format_option()
def command(
    version: str,
    thing: tuple[str, ...],
    target: Path | None,
    name: str | None,
    needs: "Needs",
    keep_looks: bool,
    dry_run: bool,
    vault_folder: Path | None,
    who: str | None,
    output: str,
) -> None:
    """Write the very bytes of VERSION back, or one THING of it into the show as it is now.

    The bytes go back under their own names, or to FILE.

    VERSION is a number, a label, `latest`, `previous`, or a time such as 22:15 or "yesterday
    18:00" (the newest version at or before it). What stands there now is kept as a version first,
    and what comes back is a version too, so `showvault restore previous` undoes a restore.

    THING is said in plain words: cue 12-20, list 2 cue 5, preset color 1.3, group 3,
    fixtures 101-108, universe 2 (its patch), cue 12 dimmer (one attribute). What it needs comes
    along; what looks different on stage is told, in other cues too.

    \b
    Examples:
      showvault restore previous
      showvault restore 22:15
      showvault restore 41 --to /media/stick/evening.json
      showvault restore 41 cue 12-20 --dry-run
      showvault restore 22:15 cue 12 dimmer --keep-looks
    """
    if thing or dry_run or keep_looks:
        if target is not None or name is not None or not thing:
            raise click.UsageError("--to and --file go with a whole version, the others with THING")
        neighbours: Neighbours = "keep looks" if keep_looks else "as they come"
        _bring_back(version, " ".join(thing), needs, neighbours, dry_run, vault_folder, who, output)
        return
    from showvault.flows.cautions import cautions_on_restoring
    from showvault.flows.restore import choose_file, restore_in_place, restore_to
    from showvault.report.cautions import caution_lines
    from showvault.report.outcomes import restored_record, restored_text
    from showvault.report.records import as_json
    from showvault.vault.asking import resolve

    with open_found_vault(vault_folder) as vault:
        found = resolve(vault.store, version, now=now())
        if not found.good:
            warn(f"version {found.number} was set aside, it is NOT WHOLE: {found.reason}")
        keeper = make_keeper(vault, who)
        if target is not None:
            chosen = choose_file(found, name)
            target = target.resolve()
            target = target / chosen.name if target.is_dir() else target
            restored = restore_to(keeper, found, chosen, target, when=now())
            others = [file.name for file in found.files if file.path != chosen.path]
            if others and name is None:
                warn(
                    f"only {chosen.name} was written; version {found.number} also holds "
                    f"{', '.join(others)} (--file NAME brings one of them)"
                )
        else:
            files = [choose_file(found, name)] if name else found.files
            restored = restore_in_place(keeper, found, files, when=now())
        if output == "text":
            echo_folded(restored_text(restored))
        _warn_if_not_recorded(keeper, restored)
        # The file is back by now; what to mind before it is loaded may take a moment to find.
        cautions = cautions_on_restoring(vault.store, restored)
    if output == "json":
        click.echo(as_json(restored_record(restored, cautions)))
    elif cautions:
        echo_folded("\n".join(caution_lines(cautions)))


def _warn_if_not_recorded(keeper: "Keeper", restored: "Restored") -> None:
    """Tidy up, and say once if the vault cannot be written: the files came back all the same."""
    if restored.not_recorded is not None:
        warn(
            f"the vault cannot be written ({restored.not_recorded}). What came back is whole, but "
            "no version tells of it: `restore previous` does not undo this"
        )
        return
    try:
        keeper.afterwards()
    except ShowvaultError as error:
        warn(f"the vault cannot be written ({error}). What came back is whole")


def _bring_back(
    version: str,
    words: str,
    needs: "Needs",
    neighbours: "Neighbours",
    dry_run: bool,
    vault_folder: Path | None,
    who: str | None,
    output: str,
) -> None:
    from showvault.cli.sources import reading_again
    from showvault.flows.bring_back import bring_back
    from showvault.flows.outcomes import AlreadySo
    from showvault.flows.rewriting import read_current, replace_current
    from showvault.report.merging import brought_record, brought_text
    from showvault.report.records import as_json
    from showvault.show.asking import read_asking
    from showvault.vault.asking import resolve

    asked = read_asking(words)
    with open_found_vault(vault_folder) as vault:
        found = resolve(vault.store, version, now=now())
        keeper = make_keeper(vault, who)
        current = read_current(keeper)
        back = bring_back(
            reading_again(vault).parts(found),
            f"version {found.number}",
            current,
            asked,
            words,
            needs=needs,
            neighbours=neighbours,
        )
        written: Outcome = None
        if back.data == current.file.data:
            written = AlreadySo(current.file.path)
        elif not dry_run:
            summary = f"{words} of version {found.number} brought back"
            written = replace_current(keeper, current, back.data, summary, when=now())
            keeper.afterwards()
    if output == "json":
        click.echo(as_json(brought_record(back, written)))
    else:
        echo_folded(brought_text(back, written))
