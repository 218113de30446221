"""The SHA-256 of bytes, worked out while something else is done with them."""

import hashlib
import threading
from collections.abc import Iterable

WORTH_A_THREAD = 1_000_000
"""Bytes."""


class Hashing:
    """A digest on its way."""

    def __init__(self, pieces: Iterable[bytes], size: int) -> None:
        """Take in ``pieces``, which have ``size`` bytes, one after the other."""
        self._hash = hashlib.sha256()
        # Hashing lets other threads work; a small file is done before a thread would start.
        self._thread = threading.Thread(target=self._take_in, args=(pieces,), name="hashing")
        if size > WORTH_A_THREAD:
            self._thread.start()
        else:
            self._take_in(pieces)

    def _take_in(self, pieces: Iterable[bytes]) -> None:
        for piece in pieces:
            self._hash.update(piece)

    def result(self) -> str:
        """Return the digest in hexadecimal, once it is there."""
        if self._thread.ident is not None:
            self._thread.join()
        return self._hash.hexdigest()
