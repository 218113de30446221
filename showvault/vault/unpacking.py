"""Blobs read from packs in our own process, as far as they lie there as a save writes them.

The forms are git's own (git, gitformat-pack). Whatever is not plainly as a save writes it (an
object that is told by another's place, a pack that is large, cut short or just gone) is left to
git, which also says what is wrong with it.
"""

import struct
from collections.abc import Collection, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final

from showvault.vault.deflating import inflate
from showvault.vault.differing import apply_difference, read_size
from showvault.vault.packing import DIFFERENCE, FAR, ID_BYTES, INDEX_HEAD, NUMBERS
from showvault.vault.storing import LONGEST_CHAIN

MOST_OBJECTS: Final = 20_000
MOST_BYTES: Final = 256 * 1024 * 1024
"""A larger pack was folded by git, and most of it is differences."""

FANOUT_BYTES: Final = 1024


def read_whole_blobs(packs: Path, oids: Collection[str]) -> dict[str, bytes]:
    """Return the bytes of those of ``oids`` that lie whole in a pack of the folder."""
    left = set(map(bytes.fromhex, oids))
    found: dict[str, bytes] = {}
    for index in sorted(packs.glob("pack-*.idx")):
        if not left:
            break
        for oid, data in _read_from(index, left):
            found[oid.hex()] = data
            left.discard(oid)
    return found


def _read_from(index: Path, wanted: set[bytes]) -> Iterator[tuple[bytes, bytes]]:
    try:
        offsets = _offsets(index.read_bytes())
        here = wanted & offsets.keys()
        pack = index.with_suffix(".pack")
        if not here or pack.stat().st_size > MOST_BYTES:
            return
        data = pack.read_bytes()
    except OSError:  # somebody else's git has just folded it
        return
    pack_of = _Pack(data, offsets)
    for oid in here:
        blob = pack_of.blob(oid)
        if blob is not None:
            yield oid, blob


class _Pack:
    """The bytes of a pack, and where each object begins in them."""

    def __init__(self, data: bytes, offsets: Mapping[bytes, int]) -> None:
        self._data = data
        self._offsets = offsets
        starts = sorted(offsets.values())
        self._ends = dict(zip(starts, [*starts[1:], len(data) - ID_BYTES], strict=True))

    def blob(self, oid: bytes) -> bytes | None:
        """Return the bytes of a blob, whole or told by what differs from others; else None."""
        differences: list[bytes] = []
        while oid in self._offsets and len(differences) < LONGEST_CHAIN:
            start = self._offsets[oid]
            entry = self._data[start : self._ends[start]]
            kind, size, at = _head(entry)
            if not 0 <= size <= MOST_BYTES:
                return None
            if kind == NUMBERS["blob"]:
                return _applied(inflate(entry[at:], size), differences)
            told = inflate(entry[at + ID_BYTES :], size) if kind == DIFFERENCE else None
            if told is None:
                return None
            differences.append(told)
            oid = entry[at : at + ID_BYTES]
        return None


def _applied(blob: bytes | None, differences: Sequence[bytes]) -> bytes | None:
    """Return a blob after differences of which the last comes first."""
    for told in reversed(differences):
        blob = None if blob is None else apply_difference(blob, told, MOST_BYTES)
    return blob


def _offsets(index: bytes) -> dict[bytes, int]:
    """Where each object begins in the pack; nothing where the index is none or too large."""
    names = len(INDEX_HEAD) + FANOUT_BYTES
    if not index.startswith(INDEX_HEAD) or len(index) < names:
        return {}
    (count,) = struct.unpack_from(">I", index, names - 4)
    offsets = names + count * (ID_BYTES + 4)  # behind the names stand their checksums
    if count > MOST_OBJECTS or len(index) < offsets + count * 4:
        return {}
    places = struct.unpack_from(f">{count}I", index, offsets)
    oids = [index[at : at + ID_BYTES] for at in range(names, names + count * ID_BYTES, ID_BYTES)]
    return {oid: place for oid, place in zip(oids, places, strict=True) if place < FAR}


def _head(entry: bytes) -> tuple[int, int, int]:
    """Return what kind of object an entry holds, its size, and where its bytes begin."""
    first = entry[0] if entry else 0
    kind, size, at = first >> 4 & 7, first & 15, 1
    if first & 0x80:
        rest, at = read_size(entry, 1)
        size |= rest << 4  # below nothing where it has no end
    return kind, size, at
