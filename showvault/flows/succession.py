"""What of a show is new since the last version: found in memory where that is still there.

A watcher holds the show it kept last, so that equal parts are told by comparing bytes, without a
hash or a look into the store; equal parts are then shared, not held twice.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from showvault.flows.describing import ReadBlob, Sides
from showvault.flows.stored import SHOW_FOLDER, SKELETON, parts_in_tree
from showvault.show.cutting import CutShow
from showvault.show.moved_presets import NO_MOVES, PresetMoves, find_moved_presets
from showvault.show.parts import ShowParts, parts_of
from showvault.vault.store import blob_id


@dataclass(frozen=True)
class Succession:
    """A show that is to be kept, beside the one before it."""

    cut: CutShow
    changed: Mapping[str, bytes]
    """Paths in the version's tree whose bytes are new, with them."""
    removed: tuple[str, ...]
    """Paths in the version's tree that are gone."""
    sides: Sides
    """The show before and this one, to be compared."""
    last: CutShow | None = None
    """The show before, where it is still in memory."""
    presets: PresetMoves = NO_MOVES
    """What presets moved, as far as that is plain, and what followed them."""


def after_stored(tree: Mapping[str, str], cut: CutShow) -> Succession:
    """Hold a show against the last version's tree in the store."""
    blobs = {name: blob_id(data) for name, data in cut.parts.items()}

    def sides(read: ReadBlob) -> tuple[ShowParts | None, ShowParts]:
        before = parts_in_tree(tree, read) if SKELETON in tree else None
        return before, parts_of(cut, blobs)

    changed = {
        SHOW_FOLDER + name: cut.parts[name]
        for name, blob in blobs.items()
        if tree.get(SHOW_FOLDER + name) != blob
    }
    if tree.get(SKELETON) != blob_id(cut.skeleton):
        changed[SKELETON] = cut.skeleton
    gone = (
        path
        for path in tree
        if path.startswith(SHOW_FOLDER)
        and path != SKELETON
        and path.removeprefix(SHOW_FOLDER) not in blobs
    )
    return Succession(cut, changed, tuple(gone), sides)


def after_held(last: CutShow, cut: CutShow) -> Succession:
    """Hold a show against the one that was kept last and is still in memory."""
    before = last.parts
    shared = {
        name: before[name] if before.get(name) == data else data for name, data in cut.parts.items()
    }
    cut = replace(cut, parts=shared)
    presets = _followers(last, cut)

    def sides(read: ReadBlob) -> tuple[ShowParts | None, ShowParts]:
        return parts_of(last), replace(parts_of(cut), presets=presets)

    changed = {
        SHOW_FOLDER + name: data for name, data in shared.items() if before.get(name) is not data
    }
    if last.skeleton != cut.skeleton:
        changed[SKELETON] = cut.skeleton
    gone = tuple(SHOW_FOLDER + name for name in before if name not in shared)
    return Succession(cut, changed, gone, sides, last, presets)


def _followers(last: CutShow, cut: CutShow) -> PresetMoves:
    """Find which presets moved, and which parts are new in nothing but that."""
    presets = PresetMoves(find_moved_presets(last, cut))
    if presets:
        for thing, name in cut.names.items():
            before, after = last.parts.get(last.names.get(thing, "")), cut.parts[name]
            if before is not None and before is not after:
                presets.learn(thing, before, after)
    return presets
