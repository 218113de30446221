"""How times are taken: interleaved with their reference in one run, and told as ratios."""

import gc
import os
import shutil
import statistics
import time
from collections.abc import Callable
from pathlib import Path


def seconds(work: Callable[[], object]) -> float:
    """Return how long one call took."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def median(times: list[float]) -> float:
    """Return the median of some times."""
    return statistics.median(times)


def settle() -> None:
    """Let nothing that was made before weigh on what is measured next."""
    gc.collect()
    gc.freeze()
    os.sync()


def copy_and_sync(source: Path, target: Path) -> None:
    """The reference of every save: copy a file and sync its bytes."""
    shutil.copyfile(source, target)
    descriptor = os.open(target, os.O_RDWR)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
