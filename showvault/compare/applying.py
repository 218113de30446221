"""A comparison applied to the old show gives the new one; its inverse goes back.

Shows are plain trees (show.trees); equal means equal in canonical writing (show.writing).
"""

from collections.abc import Iterable, Iterator, Sequence

from msgspec import UNSET

from showvault.compare.changes import (
    Added,
    Change,
    Changed,
    Comparison,
    Copied,
    Follower,
    Moved,
    Path,
    Rekeyed,
    Removed,
    Stayed,
)
from showvault.compare.fields import same_value
from showvault.compare.renames import Renames
from showvault.errors import ShowvaultError
from showvault.show.addressing import Thing, say_thing
from showvault.show.places import path_to
from showvault.show.trees import Tree


class DoesNotApplyError(ShowvaultError):
    """A comparison names a thing that the show does not have."""

    def __init__(self, thing: Thing) -> None:
        super().__init__(
            f"the comparison does not apply: the show has no {say_thing(thing)}",
            hint="apply a comparison to the very show that it was made from",
        )
        self.thing = thing


def apply_comparison(comparison: Comparison, tree: Tree) -> Tree:
    """Return the show after the comparison; the show given stays as it is.

    Raises DoesNotApplyError where the show is not the one that was compared.
    """
    show = _copy(tree)
    moved = [change for change in comparison.changes if isinstance(change, Moved)]
    taken = {thing: _take_out(show, thing) for thing in _lists_last(_leaving(comparison))}
    arriving = dict(_arriving(comparison, taken))
    for thing in reversed(_lists_last(arriving)):
        _put(show, path_to(thing), arriving[thing])
    followers = [follower for change in moved for follower in change.followed]
    changed = [one for one in (*followers, *comparison.changes) if isinstance(one, Changed)]
    fields = [field for change in changed for field in (change, *change.along)]
    for field in _rekey(show, [one for one in followers if isinstance(one, Rekeyed)], fields):
        _put(show, (*path_to(field.thing), *field.path), _copy(field.after))
    return show


def invert_comparison(comparison: Comparison) -> Comparison:
    """Return the comparison that leads from the new show back to the old one."""
    moved = [change for change in comparison.changes if isinstance(change, Moved)]
    back = _Back(moved)
    return Comparison(
        tuple(back.change(change) for change in comparison.changes), comparison.left_out
    )


class _Back:
    """Turns changes round, each place named as in the show before."""

    def __init__(self, moved: list[Moved]) -> None:
        self._names = Renames({change.thing: change.from_ for change in moved})
        self._keys: dict[Thing, dict[tuple[Path, str], str]] = {}
        for change in moved:
            for follower in change.followed:
                if isinstance(follower, Rekeyed):
                    keys = self._keys.setdefault(follower.thing, {})
                    keys[follower.path, follower.after] = follower.before

    def change(self, change: Change) -> Change:
        match change:
            case Added(thing, after) | Copied(thing, _, after):
                return Removed(thing, after)
            case Removed(thing, before):
                return Added(thing, before)
            case Changed():
                return self._changed(change)
            case Moved(thing, from_, followed, stayed, run):
                return Moved(
                    from_,
                    thing,
                    tuple(self._follower(follower) for follower in followed),
                    tuple(self._stayed(reference) for reference in stayed),
                    run,
                )

    def _follower(self, follower: Follower) -> Follower:
        match follower:
            case Changed():
                return self._changed(follower)
            case Rekeyed(thing, path, before, after):
                return Rekeyed(self._names.new_name(thing), path, after, before)

    def _changed(self, change: Changed) -> Changed:
        thing, path = change.thing, self._path(change.thing, change.path)
        along = tuple(self._changed(field) for field in change.along)
        return Changed(self._names.new_name(thing), path, change.after, change.before, along)

    def _stayed(self, reference: Stayed) -> Stayed:
        return Stayed(
            self._names.new_name(reference.thing), self._path(reference.thing, reference.path)
        )

    def _path(self, thing: Thing, path: Path) -> Path:
        keys = self._keys.get(thing)
        if not keys:
            return path
        return tuple(keys.get((path[:at], step), step) for at, step in enumerate(path))


def _leaving(comparison: Comparison) -> Iterator[Thing]:
    for change in comparison.changes:
        match change:
            case Removed(thing) | Moved(from_=thing):
                yield thing


def _arriving(comparison: Comparison, taken: dict[Thing, Tree]) -> Iterator[tuple[Thing, Tree]]:
    for change in comparison.changes:
        match change:
            case Moved(thing, from_):
                yield thing, taken[from_]
            case Added(thing, after) | Copied(thing, _, after):
                yield thing, _copy(after)


def _lists_last(things: Iterable[Thing]) -> list[Thing]:
    """Return things with cue lists after the cues inside them."""
    return sorted(things, key=lambda thing: thing.kind == "cue_list")


def _copy(value: Tree) -> Tree:
    match value:
        case dict():
            return {key: _copy(member) for key, member in value.items()}
        case list():
            return [_copy(member) for member in value]
        case _:
            return value


def _take_out(show: Tree, thing: Thing) -> Tree:
    *above, last = path_to(thing)
    holder = show
    for step in above:
        holder = holder.get(step) if isinstance(holder, dict) else None
    if not isinstance(holder, dict) or last not in holder:
        raise DoesNotApplyError(thing)
    return holder.pop(last)


def _put(show: Tree, path: Path, value: Tree) -> None:
    """Set a value, or take it out where it is UNSET; objects on the way are made as needed."""
    *above, last = path
    holder = show
    for step in above:
        if not isinstance(holder.get(step), dict):
            holder[step] = {}
        holder = holder[step]
    if value is UNSET:
        holder.pop(last, None)
    else:
        holder[last] = value


def _rekey(
    show: Tree, followers: Iterable[Rekeyed], fields: Sequence[Changed]
) -> Sequence[Changed]:
    """Rename keys, all of one object at once: two that were exchanged do not meet.

    Returns the fields that are still to be set: on the way back, what took over the number of a
    thing that moved has to go before that thing comes home.
    """
    by_place: dict[Path, dict[str, str]] = {}
    for follower in followers:
        place = (*path_to(follower.thing), *follower.path)
        by_place.setdefault(place, {})[follower.before] = follower.after
    for place, keys in by_place.items():
        holder = _at(show, place)
        homes = set(keys.values())
        strangers = {key: held for key, held in holder.items() if key in homes - keys.keys()}
        renamed = {keys.get(key, key): held for key, held in holder.items() if key not in strangers}
        holder.clear()
        holder.update(renamed)
        if strangers:
            fields = [field for field in fields if not _takes_out(field, place, strangers)]
    return fields


def _takes_out(field: Changed, place: Path, strangers: dict[str, Tree]) -> bool:
    """Take what a field says is gone out of the strangers; tell whether it was there."""
    path = (*path_to(field.thing), *field.path)
    if field.after is not UNSET or path[: len(place)] != place:
        return False
    *above, last = path[len(place) :]
    held: Tree = strangers
    for step in above:
        held = held.get(step) if isinstance(held, dict) else None
    if not isinstance(held, dict) or not same_value(held.get(last, UNSET), field.before):
        return False
    del held[last]
    return True


def _at(show: Tree, place: Iterable[str]) -> dict[str, Tree]:
    for step in place:
        show = show[step]
    held: dict[str, Tree] = show
    return held
