"""A lighting desk for the stories: folders of its own, the real command line, a real watcher.

Nothing of the person who runs the tests is read or written: home, data folder and git's settings
are the story's own.
"""

import json
import os
import queue
import select
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

PATIENCE = 40.0
"""Seconds after which a watcher that says nothing has failed."""

SAMPLES = Path(__file__).resolve().parents[2] / "sample_shows"


@dataclass(frozen=True)
class Answer:
    """What a command said, and how it ended."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


class Watcher:
    """A running ``showvault watch --format json``."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self.process = process
        self.events: list[dict[str, Any]] = []
        self._lines: queue.Queue[str | None] = queue.Queue()
        threading.Thread(target=self._read, daemon=True).start()

    def wait_for(self, event: str, patience: float = PATIENCE) -> dict[str, Any]:
        """Return the next event of this name; fail when it does not come."""
        deadline = time.monotonic() + patience
        while True:
            try:
                line = self._lines.get(timeout=max(0.0, deadline - time.monotonic()))
            except queue.Empty:
                line = None
            if line is None:
                raise AssertionError(f"no {event!r} came; before it: {self.events}")
            self.events.append(json.loads(line))
            if self.events[-1]["event"] == event:
                return self.events[-1]

    def stop(self, with_signal: int = signal.SIGTERM) -> int:
        """Ask the watcher to end; return its exit code, with all that it still said in events."""
        self.process.send_signal(with_signal)
        code = self.process.wait(PATIENCE)
        while (line := self._lines.get(timeout=PATIENCE)) is not None:
            self.events.append(json.loads(line))
        return code

    def named(self, event: str) -> list[dict[str, Any]]:
        return [one for one in self.events if one["event"] == event]

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self._lines.put(line)
        self._lines.put(None)


class Terminal:
    """A watcher as a person sees it: on a terminal of 100 columns."""

    def __init__(self, command: Sequence[str], environment: dict[str, str]) -> None:
        import pty

        self.said = ""
        self._ours, theirs = pty.openpty()
        self.process = subprocess.Popen(
            command,
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            env=environment | {"TERM": "xterm", "COLUMNS": "100", "LINES": "24"},
            start_new_session=True,
        )
        os.close(theirs)

    def read_until(self, text: str, already: str = "") -> str:
        """Return what appeared up to now; fail when ``text`` does not appear after ``already``."""
        deadline = time.monotonic() + PATIENCE
        new = already
        while text not in new:
            ready, _, _ = select.select([self._ours], [], [], max(0, deadline - time.monotonic()))
            if not ready:
                raise AssertionError(f"{text!r} did not appear in {self.said!r}")
            read = os.read(self._ours, 65536).decode("utf-8", "replace")
            new += read
            self.said += read
        return new

    def interrupt(self) -> int:
        """Press Ctrl-C; return the exit code."""
        self.process.send_signal(signal.SIGINT)
        return self.read_to_the_end()

    def read_to_the_end(self) -> int:
        """Read what is said until the program ends; return the exit code."""
        while True:
            try:
                read = os.read(self._ours, 65536)
            except OSError:  # how Linux says that the other end of a terminal is closed
                break
            if not read:
                break
            self.said += read.decode("utf-8", "replace")
        return self.process.wait(PATIENCE)

    def close(self) -> None:
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait(PATIENCE)
        os.close(self._ours)


class Desk:
    """One production: a folder of shows, a vault, and the command line between them."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.shows = root / "shows"
        self.vault = root / "vault"
        self.home = root / "home"
        for folder in (self.shows, self.home):
            folder.mkdir(parents=True)
        kept = {
            key: value
            for key, value in os.environ.items()
            if not key.startswith(("GIT_", "SHOWVAULT_", "XDG_"))
        }
        self.environment = kept | {
            "HOME": str(self.home),
            "SHOWVAULT_HOME": str(self.home / "data"),
            "LC_ALL": "C.UTF-8",
            "TZ": "UTC",
        }

    def run(self, *arguments: str | Path, cwd: Path | None = None) -> Answer:
        """Run one command to its end."""
        done = subprocess.run(
            self._command(arguments),
            capture_output=True,
            text=True,
            env=self.environment,
            cwd=cwd or self.shows,
            timeout=120,
        )
        return Answer(done.returncode, done.stdout, done.stderr)

    def do(self, *arguments: str | Path) -> Answer:
        """Run one command on this vault that has to end well."""
        answer = self.run(*arguments, "--vault", self.vault, cwd=self.root)
        assert answer.code == 0, answer
        return answer

    def ask(self, *arguments: str | Path) -> Any:
        """Return what a command on this vault says as JSON."""
        return self.do(*arguments, "--format", "json").json

    def versions(self) -> list[dict[str, Any]]:
        return self.ask("list")

    def save(self, name: str, data: bytes) -> Path:
        """Save as a desk does that opens its file and writes into it."""
        path = self.shows / name
        path.write_bytes(data)
        return path

    def save_by_rename(self, name: str, data: bytes) -> Path:
        """Save as a desk does that writes beside its file and renames over it."""
        path = self.shows / name
        beside = self.shows / f"{name}.tmp"
        beside.write_bytes(data)
        beside.replace(path)
        return path

    def snapshot(self, name: str, data: bytes) -> int:
        """Save and keep a version by hand; return its number."""
        return self.ask("snapshot", self.save(name, data))["number"]

    def restored(self, version: str | int) -> bytes:
        """Return the bytes that a version gives back."""
        target = self.root / f"restored {time.monotonic_ns()}.json"
        self.do("restore", str(version), "--to", target)
        return target.read_bytes()

    def restored_file(self, version: str, name: str) -> bytes:
        """Return the bytes that a version gives back for one of its files."""
        target = self.root / f"restored {time.monotonic_ns()}"
        self.do("restore", version, "--file", name, "--to", target)
        return target.read_bytes()

    def ring(self) -> list[Path]:
        return sorted((self.vault / "ring").iterdir())

    def git(self, *arguments: str) -> str:
        done = subprocess.run(
            ["git", "-C", str(self.vault / "history.git"), *arguments],
            capture_output=True,
            text=True,
            env=self.environment,
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    @contextmanager
    def watching(self, *options: str) -> Iterator[Watcher]:
        """Run a watcher over the folder of shows until the block ends."""
        arguments = ("watch", self.shows, "--vault", self.vault, "--format", "json", *options)
        process = subprocess.Popen(
            self._command(arguments),
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env=self.environment,
            cwd=self.root,
        )
        watcher = Watcher(process)
        try:
            watcher.wait_for("ready")
            yield watcher
        finally:
            if process.poll() is None:
                process.terminate()
            process.wait(PATIENCE)
            for pipe in (process.stdout, process.stderr):
                if pipe is not None:
                    pipe.close()

    @contextmanager
    def watching_on_a_terminal(self) -> Iterator[Terminal]:
        """Run a watcher as a person does."""
        command = self._command(("watch", self.shows, "--vault", self.vault))
        terminal = Terminal(command, self.environment)
        try:
            yield terminal
        finally:
            terminal.close()

    def said_on_a_terminal(self, *arguments: str | Path) -> str:
        """Run one command to its end as a person does; return what appeared."""
        terminal = Terminal(self._command(arguments), self.environment)
        try:
            terminal.read_to_the_end()
            return terminal.said
        finally:
            terminal.close()

    @staticmethod
    def _command(arguments: Sequence[str | Path]) -> list[str]:
        return [sys.executable, "-m", "showvault.cli.app", *map(str, arguments)]
