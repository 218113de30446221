"""How something is fuzzed: the same few cases in every run, or others for as long as is asked.

The law is the same everywhere: a good answer or a ShowvaultError, never another exception, within
bounded time and memory, and nothing is written, started or asked for outside.
"""

import contextlib
import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, TypeVar

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis.strategies import SearchStrategy

from showvault.errors import ShowvaultError

SECONDS = float(os.environ.get("SHOWVAULT_FUZZ_SECONDS", "0"))
"""For how long each law is tried with cases that nobody has tried; 0: a few, always the same."""

AT_A_TIME = 300
TIME_LIMIT = 20.0
"""Seconds of the processor that one small input may cost; a busy machine is no excuse for more."""

MEMORY_LIMIT = 1024
"""MiB that the process that fuzzes may have held."""

T = TypeVar("T")


def fuzz(cases: SearchStrategy[T], law: Callable[[T], object], *, steady: int = 60) -> None:
    """Try ``law`` with ``cases``: ``steady`` many, the same each time, or for `SECONDS`."""
    tried = refused = 0

    def one(case: T) -> None:
        nonlocal tried, refused
        tried += 1
        began = time.process_time()
        try:
            law(case)
        except ShowvaultError as error:
            assert str(error)
            refused += 1
        assert time.process_time() - began < TIME_LIMIT

    steadily = settings(
        max_examples=steady if not SECONDS else AT_A_TIME,
        derandomize=not SECONDS,
        database=None,
        deadline=None,
        suppress_health_check=list(HealthCheck),
        phases=[Phase.generate, Phase.shrink],
    )
    end = time.monotonic() + SECONDS
    while True:
        steadily(given(cases)(one))()
        if time.monotonic() >= end:
            break
    if SECONDS:
        print(f"{tried:,} cases, {refused:,} refused")
    assert peak_memory() < MEMORY_LIMIT


def peak_memory() -> int:
    """The most that this process has held, in MiB; 0 where the system does not say."""
    if sys.platform == "win32":
        return 0
    import resource

    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak // (1024 * 1024 if sys.platform == "darwin" else 1024)


class _Watch:
    """What is let through of what Python does to the world (its audit events)."""

    def __init__(self) -> None:
        self.inside: Path | None = None
        self.on = False
        self.seen: list[str] = []

    def __call__(self, event: str, arguments: tuple[Any, ...]) -> None:
        if not self.on:
            return
        if event == "open":
            writes = arguments[2] & (os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC)
            if isinstance(arguments[0], int) or not writes or arguments[0] == os.devnull:
                return
        elif event not in TELLTALE:
            return
        if event in ON_DISK and self._is_inside(arguments):
            return
        self.seen.append(f"{event} {arguments!r}"[:300])

    def _is_inside(self, arguments: tuple[Any, ...]) -> bool:
        if self.inside is None:
            return False
        named = [one for one in arguments[:2] if isinstance(one, str | bytes | os.PathLike)]
        places = [Path(os.path.realpath(os.fsdecode(one))) for one in named if one != "w"]
        return bool(places) and places[0].is_relative_to(self.inside)


ON_DISK = frozenset(
    {"open", "os.mkdir", "os.rename", "os.remove", "os.rmdir", "os.chmod", "os.truncate"}
)
TELLTALE = ON_DISK | {
    "os.symlink",
    "os.link",
    "os.system",
    "os.exec",
    "os.posix_spawn",
    "os.startfile",
    "subprocess.Popen",
    "socket.connect",
    "socket.bind",
    "socket.getaddrinfo",
    "urllib.Request",
    "pickle.find_class",
}
"""Not ``exec``: every import is one."""

_watch = _Watch()
sys.addaudithook(_watch)


@contextlib.contextmanager
def nothing_done_outside(
    inside: Path | None = None, *, but: frozenset[str] = frozenset()
) -> Iterator[None]:
    """Fail when the block writes but in ``inside``, starts a program or calls somebody.

    ``but`` names events that are right there (sys.audit events, Python's own list).
    """
    _watch.seen, _watch.inside, _watch.on = [], inside, True
    # What Python compiles as it imports something for the first time is its own affair.
    compiling, sys.dont_write_bytecode = sys.dont_write_bytecode, True
    try:
        yield
    finally:
        _watch.on = False
        sys.dont_write_bytecode = compiling
    done = [one for one in _watch.seen if one.split(" ")[0] not in but]
    assert done == [], done


def scratch() -> Path:
    """A folder for the cases of one law, in memory where there is such a place."""
    memory = Path("/dev/shm")
    place = memory if memory.is_dir() and os.access(memory, os.W_OK) else None
    return Path(tempfile.mkdtemp(dir=place)).resolve()
