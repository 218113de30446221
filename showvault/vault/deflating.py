"""How the bytes of an object are made small, and large again: the zlib format (RFC 1950).

ISA-L does it in a third of the time; where there is no build of it, Python's own does the same.
"""

import zlib
from functools import cache
from types import ModuleType
from typing import NamedTuple

FASTEST = 1
FASTEST_OF_ISAL = 0
"""Levels: git packs everything anew when the vault is tidied."""


class _Codec(NamedTuple):
    module: ModuleType
    level: int


def deflate(data: bytes) -> bytes:
    """Return ``data`` in the zlib format."""
    codec = _codec()
    return bytes(codec.module.compress(data, codec.level))


def inflate(data: bytes, size: int) -> bytes | None:
    """Return the ``size`` bytes that ``data`` begins with; None where it holds none or others."""
    codec = _codec().module
    inflating = codec.decompressobj()
    try:
        # One byte more than is due, so that a stranger's bytes cannot grow without a limit.
        found = bytes(inflating.decompress(data, size + 1))
    except (codec.error, ValueError):
        return None
    return found if len(found) == size and inflating.eof else None


@cache
def _codec() -> _Codec:
    """Imported when it is needed: most commands pack nothing."""
    try:
        from isal import isal_zlib
    except ImportError:
        return _Codec(zlib, FASTEST)
    return _Codec(isal_zlib, FASTEST_OF_ISAL)
