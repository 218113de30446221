"""Blobs that lie whole in a pack, read in our own process: those of a save do, until git folds it.

The forms are git's own (git, gitformat-pack). Whatever is not plainly as a save writes it (a
difference to another object, a pack that is large, cut short or just gone) is left to git, which
also says what is wrong with it.
"""

import struct
from collections.abc import Collection, Iterator
from pathlib import Path
from typing import Final

from showvault.vault.deflating import inflate
from showvault.vault.packing import FAR, ID_BYTES, INDEX_HEAD, NUMBERS

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
    starts = sorted(offsets.values())
    ends = dict(zip(starts, [*starts[1:], len(data) - ID_BYTES], strict=True))
    for oid in here:
        start = offsets[oid]
        blob = _blob(data[start : ends[start]])
        if blob is not None:
            yield oid, blob


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


def _blob(entry: bytes) -> bytes | None:
    """Return the bytes of an entry that is a whole blob, else None."""
    kind, size, shift, at = 0, 0, 4, 0
    for at, byte in enumerate(entry[:10]):
        if at == 0:
            kind, size = byte >> 4 & 7, byte & 15
        else:
            size |= (byte & 0x7F) << shift
            shift += 7
        if not byte & 0x80:
            break
    if kind != NUMBERS["blob"] or size > MOST_BYTES:
        return None
    return inflate(entry[at + 1 :], size)
