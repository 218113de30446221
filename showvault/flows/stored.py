"""The show of a version: its bytes, and its things without reading them all."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from showvault.errors import ShowvaultError
from showvault.flows.hashing import Hashing
from showvault.show.addressing import Thing
from showvault.show.cutting import (
    CutShow,
    parts_named_in,
    pieces_of,
    skeleton_as_json,
    things_named_in,
)
from showvault.show.parts import ShowParts, parts_of
from showvault.show.trees import parse_part
from showvault.vault.store import Store, blob_id
from showvault.vault.versions import DamagedVersionError, Version, VersionFile

SHOW_FOLDER = "show/"
SKELETON = SHOW_FOLDER + "skeleton"

BUNDLE = 1_000_000
"""Bytes of a show that are put together at a time: they are in the processor's reach then."""


class NoShowError(ShowvaultError):
    """A version holds no show that can be described."""

    def __init__(self, version: Version) -> None:
        reason = version.reason or "no readable show was saved with it"
        super().__init__(
            f"version {version.number} holds no show to describe: {reason}",
            hint="showvault restore gives its bytes back all the same",
        )


@dataclass(frozen=True)
class StoredPart:
    """A part that is read from the store when it is asked for."""

    key: str
    read: Callable[[str], bytes]

    @property
    def data(self) -> bytes:
        """The bytes."""
        return self.read(self.key)


def parts_of_version(store: Store, version: Version) -> ShowParts:
    """Return the things of a version's show; only its skeleton is read.

    Raises NoShowError where the version has none.
    """
    tree = store.tree(version.commit)
    if not _holds_show(version, tree):
        raise NoShowError(version)
    return parts_in_tree(tree, store.read_blob)


def parts_like_stored(cut: CutShow) -> ShowParts:
    """Return the things of a cut show, keyed so that they compare with those of a version."""
    return parts_of(cut, {name: blob_id(data) for name, data in cut.parts.items()})


def parts_in_tree(tree: Mapping[str, str], read: Callable[[str], bytes]) -> ShowParts:
    """Return the things of the show that a version's tree holds; ``read`` gives a blob's bytes."""
    skeleton = read(tree[SKELETON])
    parts: dict[Thing, StoredPart] = {
        thing: StoredPart(tree[SHOW_FOLDER + name], read)
        for thing, name in things_named_in(skeleton).items()
    }
    return ShowParts(parse_part(skeleton_as_json(skeleton)), parts)


@dataclass(frozen=True)
class StoredFile:
    """The bytes of a file of a version, in pieces; whether they are the very ones takes longer."""

    version: Version
    file: VersionFile
    pieces: Sequence[bytes]
    hashing: Hashing

    @property
    def size(self) -> int:
        """Bytes."""
        return sum(map(len, self.pieces))

    def verify(self) -> None:
        """Wait for the SHA-256. Raises DamagedVersionError where it is not the one recorded."""
        if self.hashing.result() != self.file.sha256:
            raise DamagedVersionError(f"{self.file.name!r} of version {self.version.number}")

    def bundles(self) -> Iterator[bytes]:
        """Yield the bytes in pieces that are worth a call of the system."""
        return _bundled(self.pieces)

    def equals(self, data: bytes) -> bool:
        """Tell whether ``data`` has these bytes."""
        place = 0
        for bundle in self.bundles():
            if not data.startswith(bundle, place):
                return False
            place += len(bundle)
        return place == len(data)


def stored_file(store: Store, version: Version, file: VersionFile) -> StoredFile:
    """Read one file of a version; its SHA-256 is worked out meanwhile.

    Raises MissingObjectError, NoShowError.
    """
    if file.role == "show":
        pieces = _pieces_of_show(store, version)
    else:
        pieces = [store.read_blob(file.blob)]
    size = sum(map(len, pieces))
    return StoredFile(version, file, pieces, Hashing(_bundled(pieces), size))


def bytes_of_file(store: Store, version: Version, file: VersionFile) -> bytes:
    """Return the very bytes of one file of a version, checked against their SHA-256.

    Raises DamagedVersionError, and as `stored_file` does.
    """
    stored = stored_file(store, version, file)
    stored.verify()
    return b"".join(stored.pieces)


def show_of_version(store: Store, version: Version) -> bytes:
    """Return the neutral show of a version as bytes; raises NoShowError where it has none."""
    return b"".join(_pieces_of_show(store, version))


def _holds_show(version: Version, tree: Mapping[str, str]) -> bool:
    # The tree keeps the parts of the last show; files that name none were saved in its place.
    named = version.show_file is not None or not version.files
    return version.good and named and SKELETON in tree


def _pieces_of_show(store: Store, version: Version) -> list[bytes]:
    tree = store.tree(version.commit)
    if not _holds_show(version, tree):
        raise NoShowError(version)
    skeleton = store.read_blob(tree[SKELETON])
    names = parts_named_in(skeleton)
    blobs = store.read_blobs([tree[SHOW_FOLDER + name] for name in names])
    return pieces_of(skeleton, {name: blobs[tree[SHOW_FOLDER + name]] for name in names})


def _bundled(pieces: Iterable[bytes]) -> Iterator[bytes]:
    bundle: list[bytes] = []
    size = 0
    for piece in pieces:
        bundle.append(piece)
        size += len(piece)
        if size >= BUNDLE:
            yield b"".join(bundle)
            bundle, size = [], 0
    yield b"".join(bundle)
