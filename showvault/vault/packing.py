"""Packs of git written in our own process: a file of objects and the index to it.

The form is git's own (git, gitformat-pack: pack version 2, index version 2), so any git reads it.
A pack stands by itself: what an object is a difference to lies in the same pack.
"""

import contextlib
import hashlib
import os
import struct
import zlib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from itertools import accumulate, chain
from pathlib import Path
from typing import Final, NamedTuple

from showvault.files.disk import FileSystem
from showvault.files.durable import write_under_its_own_name, write_unsynced
from showvault.vault.deflating import deflate
from showvault.vault.differing import Difference, encode_difference, encode_size
from showvault.vault.trees import object_id

NUMBERS: Final[Mapping[str, int]] = {"commit": 1, "tree": 2, "blob": 3, "tag": 4}
"""How each kind of object is told in a pack."""

DIFFERENCE: Final = 7
"""How an object is told that is a difference to another one, which is named by its id."""

PACK_MODE = 0o400
"""Nobody writes into a pack again; only this user may read it."""

MARK = ".keep"

AT_ONCE = 256
"""Objects given to one write call."""

CHUNK = 256 * 1024
ID_BYTES = 20

INDEX_HEAD = b"\xfftOc\x00\x00\x00\x02"
"""An index of version 2 begins so."""

FAR = 1 << 31
"""Offsets from here on stand in a table of their own."""


class PackedObject(NamedTuple):
    """An object as it lies in a pack."""

    oid: str
    entry: bytes
    crc: int


def pack_object(kind: str, data: bytes) -> PackedObject:
    """Compress an object and find its name."""
    entry = _entry_head(NUMBERS[kind], len(data)) + deflate(data)
    return PackedObject(object_id(kind, data), entry, zlib.crc32(entry))


def pack_difference(
    before: PackedObject, size: int, data: bytes, difference: Difference
) -> PackedObject:
    """Pack a blob as its difference to another one of ``size`` bytes; the name is that of ``data``.

    It may only be written to a pack in which the other one is written earlier.
    """
    told = encode_difference(difference, size, len(data))
    entry = _entry_head(DIFFERENCE, len(told)) + bytes.fromhex(before.oid) + deflate(told)
    return PackedObject(object_id("blob", data), entry, zlib.crc32(entry))


def write_pack(folder: Path, objects: Iterable[PackedObject], *, disk: FileSystem) -> str:
    """Write a pack of ``objects`` and its index to ``folder``; both are synced, their names not.

    Returns the pack's name. The same object twice is stored once, as it comes first: so nothing is
    ever a difference to itself by a detour. A mark beside the pack (`.keep`,
    git-index-pack) tells every other git to leave it alone; `unmark_pack` takes it away once a ref
    leads to what the pack holds. Raises DiskError; then what may be left in the folder is not named
    by anything.
    """
    single: dict[str, PackedObject] = {}
    for one in objects:
        single.setdefault(one.oid, one)
    packing = _Packing(list(single.values()))

    def name_once_marked() -> str:
        name = f"pack-{packing.checksum.hex()}"
        write_unsynced(folder / (name + MARK), b"", disk=disk)  # before anybody can see the pack
        return f"{name}.pack"

    pack = write_under_its_own_name(
        folder, packing.pieces(), name_once_marked, mode=PACK_MODE, disk=disk
    )
    write_under_its_own_name(
        folder, [packing.index], lambda: pack.with_suffix(".idx").name, mode=PACK_MODE, disk=disk
    )
    return pack.name


def unmark_pack(pack: Path, *, disk: FileSystem) -> None:
    """Let other gits fold a pack; a mark that stays is swept when the vault is opened."""
    with contextlib.suppress(OSError):
        disk.unlink(pack.with_suffix(MARK))


def encode_index(places: Iterable[tuple[PackedObject, int]], pack_checksum: bytes) -> bytes:
    """The index to a pack, from its objects with their offsets in bytes."""
    ordered = sorted(places, key=_id_of)  # none comes twice
    oids = bytes.fromhex("".join([one.oid for one, _ in ordered]))
    counts = Counter(oids[::ID_BYTES])
    fanout = accumulate(counts[first] for first in range(256))
    offsets = [offset for _, offset in ordered]
    far = [offset for offset in offsets if offset >= FAR]
    numbers = iter(range(len(far)))
    near = [offset if offset < FAR else FAR | next(numbers) for offset in offsets]
    body = b"".join(
        (
            INDEX_HEAD,
            struct.pack(">256I", *fanout),
            oids,
            struct.pack(f">{len(ordered)}I", *[one.crc for one, _ in ordered]),
            struct.pack(f">{len(ordered)}I", *near),
            struct.pack(f">{len(far)}Q", *far),
            pack_checksum,
        )
    )
    return body + hashlib.sha1(body, usedforsecurity=False).digest()


def _id_of(place: tuple[PackedObject, int]) -> str:
    return place[0].oid


def proves_whole(pack: Path) -> bool:
    """Whether a pack, or a copy of one, has the bytes that its name was made of."""
    return _digest_told(pack) == pack.stem.removeprefix("pack-")


def index_proves_whole(pack: Path) -> bool:
    """Whether the index of a pack ends with the SHA-1 of all that stands before."""
    return _digest_told(pack.with_suffix(".idx")) != ""


def _digest_told(path: Path) -> str:
    """The SHA-1 of a file's bytes, where it ends with it (git, gitformat-pack); else empty."""
    digest = hashlib.sha1(usedforsecurity=False)
    chunk = memoryview(bytearray(CHUNK))
    try:
        with path.open("rb", buffering=0) as file:
            left = os.fstat(file.fileno()).st_size - ID_BYTES
            while left > 0 and (size := file.readinto(chunk[: min(left, CHUNK)])):
                digest.update(chunk[:size])
                left -= size
            end = file.read()
    except OSError:
        return ""
    return end.hex() if digest.digest() == end else ""


class _Packing:
    """The bytes of one pack, whose name and index are known once all of them were given out."""

    def __init__(self, objects: list[PackedObject]) -> None:
        self._objects = objects
        self.checksum = b""
        self.index = b""

    def pieces(self) -> Iterator[bytes]:
        digest = hashlib.sha1(usedforsecurity=False)
        head = struct.pack(">4sII", b"PACK", 2, len(self._objects))
        bundles = (
            b"".join(one.entry for one in self._objects[at : at + AT_ONCE])
            for at in range(0, len(self._objects), AT_ONCE)
        )
        for piece in chain([head], bundles):
            digest.update(piece)
            yield piece
        self.checksum = digest.digest()
        yield self.checksum
        # The disk is at work on them by now, and is not waited for yet.
        self.index = encode_index(self._places(), self.checksum)

    def _places(self) -> Iterator[tuple[PackedObject, int]]:
        offset = 12
        for one in self._objects:
            yield one, offset
            offset += len(one.entry)


def _entry_head(number: int, size: int) -> bytes:
    """Kind and size: four bits of the size, then seven a byte, the lowest first."""
    first, rest = number << 4 | size & 15, size >> 4
    return bytes([first | 0x80]) + encode_size(rest) if rest else bytes([first])
