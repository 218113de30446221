"""Which edited things stand at another number now, by their name, where a stranger has theirs.

Contents alone follow what moved and was not touched. Something that was edited in the same session
is known by its name or label: the only one of that name on either side, more like what stands under
its name elsewhere than like what stands at its own number. Common practice, no source.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping

from showvault.compare.likeness import (
    BESIDE_NAME_AT_LEAST,
    NEARLY_BY_NAME,
    UNLIKE,
    Traits,
    likeness,
    name_of,
    shared,
)
from showvault.show.addressing import Thing
from showvault.show.trees import Tree


def only_ones(things: Mapping[Thing, Tree]) -> dict[str, Thing]:
    """Return the things that share their name or label with no other, by that name."""
    names = [(name_of(tree), thing) for thing, tree in things.items()]
    held = Counter(name for name, _ in names)
    return {name: thing for name, thing in names if name and held[name] == 1}


def find_strangers(
    home: Mapping[Thing, Thing],
    gone: Iterable[Thing],
    come: Iterable[Thing],
    old: Callable[[Thing], Tree],
    new: Callable[[Thing], Tree],
    traits: Callable[[Thing, Thing], tuple[Traits, Traits]],
) -> dict[Thing, Thing]:
    """Return old name to new name of named things that moved, were edited, and met others.

    ``home`` pairs what has one number on both sides; ``traits`` gives those of an old and a new.
    """
    before = only_ones({thing: old(thing) for thing in (*gone, *home)})
    after = only_ones({thing: new(thing) for thing in (*come, *home.values())})
    unlike = {
        (thing, there)
        for thing, there in home.items()
        if name_of(old(thing)) != name_of(new(there)) and likeness(*traits(thing, there)) < UNLIKE
    }
    leaving = {*gone, *(thing for thing, _ in unlike)}
    entering = {*come, *(there for _, there in unlike)}
    return {
        thing: there
        for thing, there in _of_onename_of(before, after)
        if thing in leaving and there in entering and _alike(*traits(thing, there))
    }


def _of_onename_of(
    before: Mapping[str, Thing], after: Mapping[str, Thing]
) -> Iterator[tuple[Thing, Thing]]:
    yield from ((thing, after[name]) for name, thing in before.items() if name in after)


def _alike(one: Traits, other: Traits) -> bool:
    return likeness(one, other) >= NEARLY_BY_NAME and shared(one, other) >= BESIDE_NAME_AT_LEAST
