"""What of a show is new since the last version: found in memory where that is still there.

A watcher holds the show it kept last, so that equal parts are told by comparing bytes, without a
hash or a look into the store; equal parts are then shared, not held twice.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from showvault.flows.describing import ReadBlob, Sides
from showvault.flows.stored import SHOW_FOLDER, SKELETON, parts_in_tree
from showvault.show.addressing import Thing
from showvault.show.cutting import CutShow, cut_into_parts
from showvault.show.moved_presets import PresetMoves, find_moved_presets
from showvault.show.parts import ShowParts, parts_of, parts_of_next
from showvault.show.recutting import Recut
from showvault.show.referring import References
from showvault.show.renaming import Texts
from showvault.vault.differing import Difference
from showvault.vault.store import blob_id


class HeldShow:
    """A show that stays in memory, with its things as soon as somebody asked for them."""

    def __init__(self, cut: CutShow, references: References | None = None) -> None:
        self.cut = cut
        self.references = References() if references is None else references
        """What was noted of it, or of a show before it."""
        self._things: ShowParts | None = None

    def get_ready(self) -> None:
        """Find out what makes the next save a quick one; not on the way to "kept"."""
        self.references.note(self.cut.parts)

    def things(self) -> ShowParts:
        """Return its things, found once."""
        if self._things is None:
            self._things = parts_of(self.cut)
        return self._things

    def things_after(self, last: "HeldShow") -> ShowParts:
        """Return its things, those that it has in common with ``last`` taken from there."""
        if self._things is None:
            self._things = parts_of_next(last.cut, last.things(), self.cut)
        return self._things


@dataclass(frozen=True)
class Succession:
    """A show that is to be kept, beside the one before it."""

    show: HeldShow
    changed: Mapping[str, bytes]
    """Paths in the version's tree whose bytes are new, with them."""
    removed: tuple[str, ...]
    """Paths in the version's tree that are gone."""
    sides: Sides
    """The show before and this one, to be compared."""
    last: HeldShow | None = None
    """The show before, where it is still in memory."""
    renamed: Mapping[Thing, Texts] = field(default_factory=dict)
    """Things in which nothing but these references to presets became others."""
    differences: Mapping[str, Difference] = field(default_factory=dict)
    """Paths in the version's tree of which it is known what differs from the bytes before."""


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
    return Succession(HeldShow(cut), changed, tuple(gone), sides)


def held_in(tree: Mapping[str, str], data: bytes) -> HeldShow | None:
    """Return a show by its bytes; None where it is not the very one that a version's tree holds."""
    cut = cut_into_parts(data)
    following = None if cut is None else after_stored(tree, cut)
    if following is None or following.changed or following.removed:
        return None
    return following.show


def after_held(last: HeldShow, recut: Recut) -> Succession:
    """Hold a show against the one that was kept last and is still in memory."""
    before = last.cut.parts
    shared = {
        name: before[name] if before.get(name) == data else data
        for name, data in recut.cut.parts.items()
    }
    cut = replace(recut.cut, parts=shared)
    is_like = recut.last is last.cut
    by_name = recut.renamed if is_like else {}
    renamed = {thing: by_name[name] for thing, name in cut.names.items() if name in by_name}
    replaced = recut.replaced if is_like else {}
    differences = {
        SHOW_FOLDER + name: Difference(one.places, len(one.old), one.new)
        for name, one in replaced.items()
        if name in shared and shared[name] is not before.get(name)
    }
    presets = PresetMoves(find_moved_presets(last.cut, cut), renamed)
    show = HeldShow(cut, last.references)

    def sides(read: ReadBlob) -> tuple[ShowParts | None, ShowParts]:
        return last.things(), replace(show.things_after(last), presets=presets)

    changed = {
        SHOW_FOLDER + name: data for name, data in shared.items() if before.get(name) is not data
    }
    if last.cut.skeleton != cut.skeleton:
        changed[SKELETON] = cut.skeleton
    gone = tuple(SHOW_FOLDER + name for name in before if name not in shared)
    return Succession(show, changed, gone, sides, last, renamed, differences)
