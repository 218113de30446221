"""The show of a version: its bytes, and its things without reading them all."""

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from showvault.errors import ShowvaultError
from showvault.show.addressing import Thing
from showvault.show.cutting import (
    CutShow,
    join_parts,
    parts_named_in,
    skeleton_as_json,
    things_named_in,
)
from showvault.show.parts import ShowParts, parts_of
from showvault.show.trees import parse_part
from showvault.vault.store import Store, blob_id
from showvault.vault.versions import DamagedVersionError, Version, VersionFile, read_file

SHOW_FOLDER = "show/"
SKELETON = SHOW_FOLDER + "skeleton"


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
    if SKELETON not in tree or not version.good:
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


def show_of_version(store: Store, version: Version) -> bytes:
    """Return the neutral show of a version as bytes; raises NoShowError where it has none."""
    tree = store.tree(version.commit)
    if SKELETON not in tree or not version.good:
        raise NoShowError(version)
    skeleton = store.read_blob(tree[SKELETON])
    names = parts_named_in(skeleton)
    blobs = store.read_blobs([tree[SHOW_FOLDER + name] for name in names])
    return join_parts(skeleton, {name: blobs[tree[SHOW_FOLDER + name]] for name in names})


def bytes_of_file(store: Store, version: Version, file: VersionFile) -> bytes:
    """Return the very bytes of one file of a version, checked against their SHA-256."""
    if file.role != "show":
        return read_file(store, file)
    data = show_of_version(store, version)
    if hashlib.sha256(data).hexdigest() != file.sha256:
        raise DamagedVersionError(f"{file.name!r} of version {version.number}")
    return data
