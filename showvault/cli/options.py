"""Options that several commands share, and what stands behind them."""

import os
import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from showvault.errors import ShowvaultError

if TYPE_CHECKING:
    from showvault.flows.keep import Keeper
    from showvault.interchange.as_set import ChooseReader, ReaderOptions
    from showvault.vault.opening import Vault

vault_option = click.option(
    "--vault",
    "vault_folder",
    type=click.Path(path_type=Path, file_okay=False),
    envvar="SHOWVAULT_VAULT",
    metavar="DIR",
    help="The vault to use, else the one that watches this folder.",
)

who_option = click.option("--who", metavar="NAME", help="Who made the version.")


def format_option(*others: str) -> Callable[[Any], Any]:
    """Return the option that chooses between text for people and data for programs."""
    return click.option(
        "--format",
        "output",
        type=click.Choice(["text", "json", *others]),
        default="text",
        show_default=True,
        help="How to print the answer.",
    )


def now() -> datetime:
    """Return the time with the machine's own offset: the one place that asks the clock."""
    return datetime.now().astimezone()


def open_found_vault(folder: Path | None, path: Path | None = None) -> "Vault":
    """Open the vault that was named, or the one that watches ``path`` or this folder."""
    from showvault.vault.opening import open_vault

    found = folder if folder is not None else _find_vault(path)
    vault = open_vault(found, clock=now)
    for repair in vault.repairs:
        warn(str(repair))  # not all of it is good news, and names in it may be a stranger's
    return vault


def _find_vault(path: Path | None) -> Path:
    """Return the vault that watches ``path``; else the only one, or the one that watches here."""
    from showvault.vault.finding import NoVaultError, SeveralVaultsError, find_vault

    try:
        return find_vault(path, os.environ)
    except SeveralVaultsError as several:
        try:
            return find_vault(Path.cwd(), os.environ)
        except NoVaultError:
            raise several from None


def make_keeper(vault: "Vault", who: str | None) -> "Keeper":
    """Return what keeps versions in a vault, in the name of whoever it is."""
    from showvault.flows.describing import Describer
    from showvault.flows.keep import Keeper
    from showvault.flows.summaries import describe_sides
    from showvault.flows.who import find_who

    return Keeper(
        vault,
        find_who(who, os.environ),
        reader_choice(vault),
        Describer(describe_sides),
    )


def reader_choice(vault: "Vault") -> "ChooseReader":
    """Return what chooses readers, each as the vault is set; what is set later counts at once."""
    from showvault.interchange.as_set import choose_as_set
    from showvault.interchange.registry import installed_registry
    from showvault.vault.layout import read_vault_file

    def options() -> "ReaderOptions":
        try:
            return read_vault_file(vault.folder).settings.reader_options
        except ShowvaultError:  # keeping goes on as the vault was when it was opened
            return vault.description.settings.reader_options

    return choose_as_set(installed_registry(warn).choose_reader, options)


def colour(name: str | None) -> str | None:
    """Return the colour, or none where NO_COLOR asks for none (no-color.org)."""
    return None if os.environ.get("NO_COLOR") else name


def coloured(text: str, name: str) -> str:
    """Return text in a colour, or as it is where NO_COLOR asks for none."""
    return click.style(text, fg=name) if colour(name) else text


def warn(sentence: str) -> None:
    """Say something that does not stop the command."""
    from showvault.report.terminal import safe_lines

    click.echo(f"{coloured('note:', 'yellow')} {safe_lines(sentence)}", err=True)


def echo_folded(text: str) -> None:
    """Print text for people, long lines folded between words where somebody looks at a screen."""
    from showvault.report.terminal import fold_line

    click.echo("\n".join(fold_line(line, fold_width()) for line in text.split("\n")))


def fold_width() -> int:
    """Return the columns at which long lines are folded: none where nobody looks at a screen."""
    return screen_width() if sys.stdout.isatty() else 0


def screen_width() -> int:
    """Return the columns of the terminal, or 100 where there is none."""
    import shutil

    return shutil.get_terminal_size((100, 24)).columns
