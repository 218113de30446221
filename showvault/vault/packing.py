"""Packs of git written in our own process: a file of objects and the index to it.

The form is git's own (git, gitformat-pack: pack version 2, index version 2), so any git reads it.
A pack that is written here stands by itself: every object is whole, none a difference to another.
"""

import contextlib
import hashlib
import itertools
import struct
import zlib
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Final, NamedTuple

from showvault.files.disk import FileSystem
from showvault.files.durable import write_under_its_own_name, write_unsynced
from showvault.vault.deflating import deflate
from showvault.vault.trees import object_id

NUMBERS: Final[Mapping[str, int]] = {"commit": 1, "tree": 2, "blob": 3, "tag": 4}
"""How each kind of object is told in a pack."""

PACK_MODE = 0o400
"""Nobody writes into a pack again; only this user may read it."""

MARK = ".keep"

AT_ONCE = 256
"""Objects given to one write call."""

CHUNK = 1024 * 1024
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


def write_pack(folder: Path, objects: Iterable[PackedObject], *, disk: FileSystem) -> str:
    """Write a pack of ``objects`` and its index to ``folder``; both are synced, their names not.

    Returns the pack's name. The same object twice is stored once. A mark beside the pack (`.keep`,
    git-index-pack) tells every other git to leave it alone; `unmark_pack` takes it away once a ref
    leads to what the pack holds. Raises DiskError; then what may be left in the folder is not named
    by anything.
    """
    single = {one.oid: one for one in objects}
    packing = _Packing(list(single.values()))

    def name_once_marked() -> str:
        name = f"pack-{packing.checksum.hex()}"
        write_unsynced(folder / (name + MARK), b"", disk=disk)  # before anybody can see the pack
        return f"{name}.pack"

    pack = write_under_its_own_name(
        folder, packing.pieces(), name_once_marked, mode=PACK_MODE, disk=disk
    )
    index = encode_index(packing.offsets(), packing.checksum)
    write_under_its_own_name(
        folder, [index], lambda: pack.with_suffix(".idx").name, mode=PACK_MODE, disk=disk
    )
    return pack.name


def unmark_pack(pack: Path, *, disk: FileSystem) -> None:
    """Let other gits fold a pack; a mark that stays is swept when the vault is opened."""
    with contextlib.suppress(OSError):
        disk.unlink(pack.with_suffix(MARK))


def encode_index(places: Iterable[tuple[PackedObject, int]], pack_checksum: bytes) -> bytes:
    """The index to a pack, from its objects with their offsets in bytes."""
    ordered = sorted((bytes.fromhex(one.oid), one.crc, offset) for one, offset in places)
    counts = [0] * 256
    for oid, _, _ in ordered:
        counts[oid[0]] += 1
    fanout, total = [], 0
    for count in counts:
        total += count
        fanout.append(total)
    far = [offset for _, _, offset in ordered if offset >= FAR]
    numbers = iter(range(len(far)))
    near = [offset if offset < FAR else FAR | next(numbers) for _, _, offset in ordered]
    body = b"".join(
        (
            INDEX_HEAD,
            struct.pack(">256I", *fanout),
            b"".join(oid for oid, _, _ in ordered),
            struct.pack(f">{total}I", *(crc for _, crc, _ in ordered)),
            struct.pack(f">{total}I", *near),
            struct.pack(f">{len(far)}Q", *far),
            pack_checksum,
        )
    )
    return body + hashlib.sha1(body, usedforsecurity=False).digest()


def proves_whole(pack: Path) -> bool:
    """Whether a pack, or a copy of one, has the bytes that its name was made of."""
    return _digest_told(pack) == pack.stem.removeprefix("pack-")


def index_proves_whole(pack: Path) -> bool:
    """Whether the index of a pack ends with the SHA-1 of all that stands before."""
    return _digest_told(pack.with_suffix(".idx")) != ""


def _digest_told(path: Path) -> str:
    """The SHA-1 of a file's bytes, where it ends with it (git, gitformat-pack); else empty."""
    digest = hashlib.sha1(usedforsecurity=False)
    end = b""
    try:
        with path.open("rb") as file:
            while chunk := file.read(CHUNK):
                digest.update((end + chunk)[:-ID_BYTES])
                end = (end + chunk)[-ID_BYTES:]
    except OSError:
        return ""
    return end.hex() if digest.digest() == end else ""


class _Packing:
    """The bytes of one pack, whose name is known once all of them were given out."""

    def __init__(self, objects: list[PackedObject]) -> None:
        self._objects = objects
        self.checksum = b""

    def pieces(self) -> Iterator[bytes]:
        digest = hashlib.sha1(usedforsecurity=False)
        head = struct.pack(">4sII", b"PACK", 2, len(self._objects))
        bundles = (
            b"".join(one.entry for one in self._objects[at : at + AT_ONCE])
            for at in range(0, len(self._objects), AT_ONCE)
        )
        for piece in itertools.chain([head], bundles):
            digest.update(piece)
            yield piece
        self.checksum = digest.digest()
        yield self.checksum

    def offsets(self) -> Iterator[tuple[PackedObject, int]]:
        offset = 12
        for one in self._objects:
            yield one, offset
            offset += len(one.entry)


def _entry_head(number: int, size: int) -> bytes:
    """Kind and size: four bits of the size, then seven a byte, the lowest first."""
    first = number << 4 | size & 15
    size >>= 4
    head = bytearray()
    while size:
        head.append(first | 0x80)
        first = size & 0x7F
        size >>= 7
    head.append(first)
    return bytes(head)
