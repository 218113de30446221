"""A save on its way, without Python's search for objects that hold each other.

Very many objects are made in a save: looking through them each time a few hundred came took a
thirtieth of it.
"""

import contextlib
import gc
from collections.abc import Iterator


@contextlib.contextmanager
def undisturbed() -> Iterator[None]:
    """Let the search wait until the block is left."""
    searched = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if searched:
            gc.enable()
