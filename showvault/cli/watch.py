"""Watch show files and keep every save."""

import os
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from showvault.cli.options import (
    format_option,
    make_keeper,
    now,
    open_found_vault,
    vault_option,
    warn,
    who_option,
)

if TYPE_CHECKING:
    from showvault.vault.opening import Vault
    from showvault.watch.events import WatchEvent
    from showvault.watch.session import Session


@click.command("watch")
@click.argument("paths", nargs=-1, type=click.Path(path_type=Path), metavar="PATH...")
@click.option(
    "--keep", type=click.IntRange(1, 10_000), metavar="N", help="Copies in the ring; 8 unless set."
)
@click.option(
    "--remind",
    type=click.IntRange(min=1),
    metavar="MINUTES",
    help="Speak up when no save was seen for so long; 20 unless set.",
)
@click.option("--poll", is_flag=True, help="Look every few seconds; do not rely on the system.")
@vault_option
@who_option
@format_option()
def command(
    paths: tuple[Path, ...],
    keep: int | None,
    remind: int | None,
    poll: bool,
    vault_folder: Path | None,
    who: str | None,
    output: str,
) -> int:
    """Watch PATH (show files or folders) and keep every save until Ctrl-C.

    Without PATH, what the vault watches. A vault is made in your data folder where there is none
    yet. Exit code 1: a file that was still changing at the end is not kept yet.

    \b
    Examples:
      showvault watch SHOWS/
      showvault watch evening.json --keep 20 --remind 10
      showvault watch SHOWS/ --format json
    """
    from showvault.flows.opening import choose_vault

    folder = vault_folder
    if paths:
        chosen = choose_vault(paths, vault_folder, keep=keep, environ=os.environ, clock=now)
        folder = chosen.folder
        for warning in chosen.warnings:
            warn(warning)
    with open_found_vault(folder) as vault, vault.watch_lock():
        session = _make_session(vault, who, remind, poll)
        with _stopping_on_signals(session):
            events = _print_records if output == "json" else _print_lines
            return 1 if events(session, vault) else 0


def _make_session(vault: "Vault", who: str | None, remind: int | None, poll: bool) -> "Session":
    from showvault.flows.candidates import Candidates
    from showvault.flows.protection import find_lag
    from showvault.watch.choosing import notifier_for
    from showvault.watch.clock import MachineClock
    from showvault.watch.session import Session

    watched = [Path(path) for path in vault.description.watched]
    notifier, polling = notifier_for(
        watched, force_polling="you asked for it with --poll" if poll else ""
    )
    keeper = make_keeper(vault, who)
    candidates = Candidates(watched, without=vault.folder)
    return Session(
        watched,
        candidates,
        keeper,
        notifier,
        MachineClock(),
        remind_minutes=remind or vault.description.settings.remind_minutes,
        polling_because=polling,
        lag=lambda: find_lag(keeper.known.newest_good),
        vault=vault.folder,
        vault_is_there=vault.is_there,
        unreadable=lambda: [path for path in candidates.unreadable if path not in watched],
    )


@contextmanager
def _stopping_on_signals(session: "Session") -> Iterator[None]:
    """Let Ctrl-C and a request to end finish what is under way; a second Ctrl-C ends at once."""

    def stop(number: int, frame: object) -> None:
        signal.signal(signal.SIGINT, signal.default_int_handler)
        session.stop()

    names = ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK")
    numbers = [getattr(signal, name) for name in names if hasattr(signal, name)]
    for number in numbers:
        signal.signal(number, stop)
    try:
        yield
    finally:
        for number in numbers:
            signal.signal(number, signal.SIG_DFL)


def _print_records(session: "Session", vault: "Vault") -> bool:
    """Print one event a line; return whether a file was left that is not kept."""
    from showvault.watch.events import event_as_json

    return _show_all(session, lambda event: click.echo(event_as_json(event)))


def _print_lines(session: "Session", vault: "Vault") -> bool:
    """Print lines for a person; return whether a file was left that is not kept."""
    from showvault.cli.screen import Screen
    from showvault.flows.protection import last_of_show
    from showvault.report.terminal import safe
    from showvault.vault.versions import list_versions
    from showvault.watch.telling import CalmLine

    versions = list_versions(vault.store)
    good = next((version for version in versions if version.good), None)
    calm = CalmLine(count=len(versions))
    if good is not None:
        calm.number, calm.moment, calm.summary = good.number, good.moment, good.summary
    of_show = last_of_show(versions)
    if of_show is not None:
        calm.show_number, calm.show_summary = of_show.number, of_show.summary
    screen = Screen(calm)
    click.echo(f"vault: {safe(str(vault.folder))}")
    with screen.refreshing():
        return _show_all(session, screen.show)


def _show_all(session: "Session", show: Callable[["WatchEvent"], None]) -> bool:
    """Show every event; where a second Ctrl-C ends it at once, what is not kept is named."""
    from showvault.watch.events import Stopped

    left = False
    try:
        for event in session.events():
            show(event)
            left = isinstance(event, Stopped) and bool(event.left)
    except KeyboardInterrupt:
        show(session.stopped())
        raise
    return left
