"""See the whole job done on a sample show, by the real watcher in a folder of its own."""

import hashlib
import json
import queue
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click

from showvault.cli.options import colour, fold_width
from showvault.errors import ShowvaultError
from showvault.flows.demo import SHOW_FILE, DemoSave, play_session
from showvault.flows.samples import shipped_file
from showvault.report.terminal import fold_line, safe

PATIENCE_SECONDS = 40.0


class DemoFailedError(ShowvaultError):
    """The demonstration did not see what it should have seen."""

    exit_code = 8


@click.command("demo")
@click.option(
    "--folder",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    help="Play in DIR, which must be new, and leave everything there to look at.",
)
def command(folder: Path | None) -> None:
    """Play a short programming session on a sample show and watch it being protected.

    The real watcher keeps real saves, one of them cut off half-way, in a scratch folder that is
    removed at the end. It takes about half a minute.

    \b
    Examples:
      showvault demo
      showvault demo --folder try-it
    """
    if folder is None:
        with tempfile.TemporaryDirectory(prefix="showvault-demo-") as scratch:
            _play(Path(scratch).resolve())
        return
    if folder.exists() and any(folder.iterdir()):
        raise click.UsageError(f"{folder} is not empty; name a new folder")
    folder.mkdir(parents=True, exist_ok=True)
    _play(folder.resolve())
    click.echo(f"everything is still in {folder}: showvault list --vault {folder / 'vault'}")


def _play(scratch: Path) -> None:
    shows = scratch / "shows"
    shows.mkdir()
    evening = shipped_file("sample_shows", "harvest_musical_evening.json").read_bytes()
    show = shows / SHOW_FILE
    show.write_bytes(evening)
    click.secho(f"a sample show is saved as {SHOW_FILE}; the watcher starts", bold=True)
    with _watching(shows, scratch / "vault") as told:
        _wait_for(told, "ready")
        play_session(shows, evening, lambda path, save: _save(path, save, told))
    _bring_back(scratch, evening)


def _save(path: Path, save: DemoSave, told: "queue.Queue[dict[str, Any] | None]") -> None:
    """Save as desks do: written beside and renamed; the one that is cut off, in place."""
    click.echo()
    click.secho(f"saved: {save.title}", bold=True)
    if save.whole:
        beside = path.with_name(f".{path.name}.writing")
        beside.write_bytes(save.data)
        beside.replace(path)
    else:
        path.write_bytes(save.data)
    _wait_for(told, "kept" if save.whole else "set_aside")


def _wait_for(told: "queue.Queue[dict[str, Any] | None]", wanted: str) -> None:
    until = time.monotonic() + PATIENCE_SECONDS
    while True:
        try:
            event = told.get(timeout=max(0.0, until - time.monotonic()))
        except queue.Empty:
            raise DemoFailedError(
                f"the watcher did not say {wanted!r} within {PATIENCE_SECONDS:g} s"
            ) from None
        if event is None:
            raise DemoFailedError("the watcher ended before its time")
        _print_event(event)
        if event["event"] == wanted:
            return


def _print_event(event: dict[str, Any]) -> None:
    match event:
        case {"event": "kept", "number": number, "summary": summary}:
            _print(f"  kept as version {number}: {summary}", "green")
        case {"event": "set_aside", "number": number, "reason": reason}:
            _print(f"  set aside as version {number}, not whole: {reason}", "yellow")
        case {"event": "not_readable_yet", "reason": reason}:
            _print(f"  not whole yet: {reason}")
        case {"event": "ready"}:
            _print("  watching; everything saved before is safe")


def _print(line: str, name: str | None = None) -> None:
    click.secho(fold_line(safe(line), fold_width()), fg=colour(name))


@contextmanager
def _watching(shows: Path, vault: Path) -> Iterator["queue.Queue[dict[str, Any] | None]"]:
    """Run the real watcher in a process of its own; gives what it tells."""
    arguments = ["watch", str(shows), "--vault", str(vault), "--who", "demo", "--format", "json"]
    watcher = subprocess.Popen(
        [sys.executable, "-m", "showvault.cli.app", *arguments],
        stdout=subprocess.PIPE,
        stdin=subprocess.DEVNULL,
        creationflags=getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0),
    )
    told: queue.Queue[dict[str, Any] | None] = queue.Queue()
    reader = threading.Thread(target=_pass_on, args=(watcher, told), daemon=True)
    reader.start()
    try:
        yield told
    finally:
        watcher.send_signal(getattr(signal, "CTRL_BREAK_EVENT", signal.SIGTERM))
        watcher.wait(timeout=PATIENCE_SECONDS)
        reader.join(timeout=5)


def _pass_on(
    watcher: "subprocess.Popen[bytes]", told: "queue.Queue[dict[str, Any] | None]"
) -> None:
    for line in watcher.stdout or ():
        told.put(json.loads(line))
    told.put(None)


def _bring_back(scratch: Path, evening: bytes) -> None:
    vault = ("--vault", str(scratch / "vault"))
    click.echo()
    _run("list", *vault)
    click.echo()
    _run("compare", "1", "latest", *vault)
    click.echo()
    target = scratch / "restored.json"
    _run("restore", "1", "--to", str(target), *vault)
    same = target.read_bytes() == evening
    proof = hashlib.sha256(evening).hexdigest()
    if not same:
        raise DemoFailedError("the restored bytes are not the bytes that were saved")
    click.secho(
        f"the restored file equals the first save, byte for byte ({proof[:16]}…)", bold=True
    )


def _run(*arguments: str) -> None:
    click.secho("$ showvault " + " ".join(arguments[: arguments.index("--vault")]), bold=True)
    sys.stdout.flush()
    command_line = [sys.executable, "-m", "showvault.cli.app", *arguments]
    done = subprocess.run(command_line, check=False)
    if done.returncode not in (0, 1):
        raise DemoFailedError(f"showvault {arguments[0]} ended with {done.returncode}")
