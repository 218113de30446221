"""Keep a version by hand."""

import os
from pathlib import Path

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


@click.command("snapshot")
@click.argument("path", type=click.Path(path_type=Path), required=False)
@click.option("--label", metavar="TEXT", default="", help="A name for the version.")
@click.option("--note", metavar="TEXT", default="", help="Anything worth remembering.")
@vault_option
@who_option
@format_option()
def command(
    path: Path | None,
    label: str,
    note: str,
    vault_folder: Path | None,
    who: str | None,
    output: str,
) -> int:
    """Keep the saves in PATH (a show file or a folder) as a version, now.

    Without PATH, what the vault watches. A vault is made where there is none yet. A file that is
    not whole is set aside: its bytes are kept and numbered, and the exit code is 1.

    \b
    Examples:
      showvault snapshot evening.json
      showvault snapshot --label "first preview" --note "before the re-focus"
    """
    from showvault.flows.by_hand import require_saves, snapshot
    from showvault.flows.naming import give_name, on_one_line
    from showvault.flows.opening import choose_vault
    from showvault.flows.outcomes import Saying
    from showvault.report.outcomes import snapshot_record, snapshot_text
    from showvault.report.records import as_json

    folder = vault_folder
    if path is not None:
        require_saves(path.resolve())
        chosen = choose_vault([path], vault_folder, keep=None, environ=os.environ, clock=now)
        folder = chosen.folder
        for warning in chosen.warnings:
            warn(warning)
    with open_found_vault(folder) as vault:
        keeper = make_keeper(vault, who)
        roots = [path.resolve()] if path else [Path(root) for root in vault.description.watched]
        taken = snapshot(keeper, roots, when=now(), saying=Saying(note=note))
        # Said before what comes afterwards, so that nothing there can hide that it is kept.
        if output == "json":
            click.echo(as_json(snapshot_record(taken)))
        else:
            echo_folded(snapshot_text(taken))
        if label and taken.newest is not None:
            give_name(vault, taken.newest, on_one_line([label]), who=keeper.who)
        for sentence in keeper.afterwards():
            warn(sentence)
    for passed_over in taken.unreadable:
        warn(f"{passed_over} is not looked into: this user may not read it")
    for failed, error in taken.failed:
        warn(f"{failed.name} is not kept: {error}")
    if taken.failed:
        return taken.failed[0][1].exit_code
    return 1 if taken.set_aside else 0
