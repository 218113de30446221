"""Who is who in two shows: the strictest test first.

1. Same number and same content: the same thing, never looked at again.
2. Same number: the same thing, changed; unless its old content stands exactly at another number
   and it does not resemble what stands at its own number now (two cues exchanged, a run of cues
   renumbered over its own numbers). A fixture that differs only in its addresses keeps its number.
3. Same content at another number: moved, where the old number is gone; copied, where it is not.
4. Nearly the same content, only among what is gone and what is new: moved and changed.

Contents that many things could have by chance (see likeness) are matched only with the help of
their neighbours, and never as copies. Cues in a new list that came from nowhere belong to the list.
"""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence

from showvault.compare.chains import Key, by_key, find_chains
from showvault.compare.copies import Copies
from showvault.compare.glances import count_alike, holds_alike
from showvault.compare.likeness import (
    UNLIKE,
    UNLIKE_UNLESS_NAMED,
    Traits,
    content_of,
    likeness,
    name_of,
    tells_itself_apart,
    traits_of,
)
from showvault.compare.list_matching import match_lists
from showvault.compare.matches import Matches
from showvault.compare.nearly import match_nearly
from showvault.compare.neighbours import Neighbours
from showvault.compare.renames import Renames
from showvault.compare.sides import Side
from showvault.compare.strangers import find_strangers
from showvault.show.addressing import KINDS, Kind, Thing, thing_order

LONG_RUN = 3
"""So many things that moved in a chain are a renumbered run, however alike they are."""


def match_things(old: Side, new: Side) -> Matches:
    """Find for every thing of two shows what became of it."""
    matches = Matches()
    by_kind = _by_kind(old), _by_kind(new)
    for kind in KINDS:
        if kind == "cue_list":
            lists = match_lists(old, new, matches.renames)
            matches.moved |= lists.moved
            matches.copied |= lists.copied
            matches.removed += lists.removed
            matches.added += lists.added
            matches.unequal += lists.pairs
        else:
            _Pool(kind, old, new, by_kind[0][kind], by_kind[1][kind], matches).match()
    return matches


def _without_cues_of(things: Iterable[Thing], chosen: Iterable[Thing]) -> list[Thing]:
    """Return what was chosen without the cues of the lists among some things."""
    lists = {thing.id for thing in things if thing.kind == "cue_list"}
    return [thing for thing in chosen if not (thing.kind == "cue" and thing.list in lists)]


def _by_kind(side: Side) -> dict[Kind, list[Thing]]:
    things: dict[Kind, list[Thing]] = defaultdict(list)
    for thing in side.parts:
        things[thing.kind].append(thing)
    return things


class _Pool:
    """The things of one kind, while they are being matched."""

    def __init__(
        self,
        kind: Kind,
        old: Side,
        new: Side,
        old_things: Sequence[Thing],
        new_things: Sequence[Thing],
        matches: Matches,
    ) -> None:
        self._kind, self._old, self._new = kind, old, new
        self._old_things, self._new_things = old_things, new_things
        self._matches = matches
        self._renames = matches.renames
        self._moved: dict[Thing, Thing] = {}
        self._home: dict[Thing, Thing] = {}
        """Old name to new name of what is at its own number and not equal."""
        self._at_home: dict[Thing, Thing] = {}
        """The same from new to old."""
        self._gone: list[Thing] = []
        self._come: list[Thing] = []
        self._traits: dict[tuple[bool, Thing], Traits] = {}
        self._stay: dict[tuple[Thing, Thing], bool] = {}

    def match(self) -> None:
        """Match them, and add what was found to the matches."""
        self._pair_by_number()
        if self._gone or self._come or len(self._home) > 1:
            self._gone.sort(key=thing_order)
            self._come.sort(key=thing_order)
            self._follow_contents()
            self._follow_names()
            self._pair_equals_by_neighbours()
            self._pair_nearly_equal()
        self._conclude()

    def _pair_by_number(self) -> None:
        old_parts, new_parts, homes = self._old.parts, self._new.parts, set()
        lost = {thing.id for thing in self._matches.removed if thing.kind == "cue_list"}
        presets = self._new.preset_moves(self._renames.moved)
        moved = self._kind == "cue" and "cue_list" in self._renames.kinds
        for thing in self._old_things:
            home = self._renames.new_name(thing) if moved else thing
            if home not in new_parts or thing.list in lost:
                self._gone.append(thing)
                continue
            homes.add(home)
            before, after = old_parts[thing].key, new_parts[home].key
            if before is after:
                continue
            movers = presets.known(home) if home == thing else frozenset()
            if not movers and before == after:
                continue
            if presets and not movers:
                movers = presets.movers(old_parts[thing].data, new_parts[home].data)
            if movers:
                self._matches.only_followed[thing, home] = movers
                continue
            self._home[thing] = home
            self._at_home[home] = thing
        if len(homes) < len(self._new_things):
            come = [thing for thing in self._new_things if thing not in homes]
            self._come = _without_cues_of(self._matches.copied, come)

    def _follow_contents(self) -> None:
        """Match by equal content at another number, where it stands once on either side.

        Equal bytes first; then equal content in other bytes, because what it names moved too.
        """
        self._follow(self._old.key, self._new.key, [*self._home])
        displaced = [thing for thing in self._home if not self._stays(thing)]
        if self._gone or len(displaced) > 1:
            blurred = self._all_renames().blurred()

            def old_content(thing: Thing) -> Hashable:
                return content_of(self._kind, self._old.tree(thing), blurred)

            def new_content(thing: Thing) -> Hashable:
                return content_of(self._kind, self._new.tree(thing), blurred)

            self._follow(old_content, new_content, displaced)

    def _follow(self, old_key: Key, new_key: Key, displaced: Sequence[Thing]) -> None:
        chains = find_chains(
            old_key,
            new_key,
            [*self._gone, *displaced],
            [*self._come, *(self._home[thing] for thing in displaced)],
            self._at_home,
        )
        for chain in chains:
            if self._is_move(chain):
                self._take(chain)

    def _stays(self, thing: Thing) -> bool:
        """Tell at a glance that a thing is still at its number: its name, or half of its levels."""
        pair = thing, self._home[thing]
        if pair not in self._stay:
            self._stay[pair] = self._stays_at(*pair)
        return self._stay[pair]

    def _stays_at(self, thing: Thing, home: Thing) -> bool:
        one, other = self._old.glance(thing), self._new.glance(home)
        if one is None or other is None or holds_alike(one, other, ("label", "name")):
            return True
        alike = count_alike(one, other, "levels")
        return alike is not None and alike[0] > 0 and 2 * alike[0] >= alike[1]

    def _follow_names(self) -> None:
        displaced = {old: new for old, new in self._home.items() if not self._stays(old)}
        if displaced:
            found = find_strangers(
                displaced,
                self._gone,
                self._come,
                self._old.tree,
                self._new.tree,
                lambda old, new: (self._old_traits(old), self._new_traits(new)),
            )
            self._take(found.items())

    def _all_renames(self) -> Renames:
        return Renames({**self._matches.moved, **self._moved})

    def _is_move(self, chain: Sequence[tuple[Thing, Thing]]) -> bool:
        """Tell whether a chain of equal contents is a move of things rather than edits in place."""
        stayed = {
            old: new
            for source, target in chain
            for old, new in (
                (source, self._home.get(source)),
                (self._at_home.get(target), target),
            )
            if old is not None and new is not None
        }
        if not all(self._told(source) for source, _ in chain):
            return not stayed and all(self._old.tree(source) != {} for source, _ in chain)
        if not stayed:
            return True
        if not all(name_of(self._old.tree(source)) for source, _ in chain):
            return False  # a trim by one step looks the same as a run that moved
        if any(self._same_but_for_addresses(old, new) for old, new in stayed.items()):
            return False
        if len(chain) >= LONG_RUN:
            return True
        if len(chain) == 1 and len(stayed) > 1:
            return False
        return all(self._is_another(old, new) for old, new in stayed.items())

    def _is_another(self, old: Thing, new: Thing) -> bool:
        """Tell whether what stands at a number now is not the thing that stood there."""
        names = name_of(self._old.tree(old)), name_of(self._new.tree(new))
        most = UNLIKE_UNLESS_NAMED if all(names) and names[0] != names[1] else UNLIKE
        return likeness(self._old_traits(old), self._new_traits(new)) < most

    def _take(self, chain: Iterable[tuple[Thing, Thing]]) -> None:
        links = dict(chain)
        self._moved |= links
        arrived = set(links.values())
        for source, target in links.items():
            if source in self._home:
                home = self._home.pop(source)
                if home not in arrived:
                    self._come.append(home)
            if target in self._at_home and self._at_home[target] not in links:
                overwritten = self._at_home[target]
                if self._home.pop(overwritten, None) is not None:
                    self._gone.append(overwritten)
        self._gone = [thing for thing in self._gone if thing not in links]
        self._come = [thing for thing in self._come if thing not in arrived]

    def _pair_equals_by_neighbours(self) -> None:
        """Match equal contents that stand more than once, or tell nothing, in their order."""
        sources = by_key(self._old.key, self._gone)
        targets = by_key(self._new.key, self._come)
        if not sources.keys() & targets.keys():
            return
        neighbours = Neighbours(self._old_things, self._new_things)
        found: dict[Thing, Thing] = {}
        for source in self._gone:
            expected = neighbours.expected(source, {**self._home, **self._moved, **found})
            choices = targets.get(self._old.key(source), [])
            if expected in choices:
                found[source] = expected
            elif choices and self._told(source):
                found[source] = choices[0]
            else:
                continue
            choices.remove(found[source])
        self._take(found.items())

    def _pair_nearly_equal(self) -> None:
        if not (self._gone and self._come):
            return
        found = match_nearly(
            self._kind,
            {thing: self._old.tree(thing) for thing in sorted(self._gone, key=thing_order)},
            {thing: self._new.tree(thing) for thing in sorted(self._come, key=thing_order)},
            self._all_renames(),
        )
        self._take(found.items())

    def _conclude(self) -> None:
        matches = self._matches
        left = _without_cues_of(matches.added, self._come)
        followed = {a: b for a, b in matches.only_followed if b.kind == self._kind}
        unequal = {a: b for a, b in self._moved.items() if self._old.key(a) != self._new.key(b)}
        copies = Copies(
            self._kind,
            self._old,
            self._new,
            self._all_renames(),
            {**self._home, **unequal},
            followed,
        )
        matches.copied |= copies.find(self._old_things, left)
        matches.added += [thing for thing in left if thing not in matches.copied]
        matches.removed += _without_cues_of(matches.removed, self._gone)
        matches.moved |= self._moved
        matches.unequal += [*unequal.items(), *self._home.items()]

    def _told(self, thing: Thing) -> bool:
        return tells_itself_apart(self._old_traits(thing))

    def _same_but_for_addresses(self, old: Thing, new: Thing) -> bool:
        one, other = self._old.tree(old), self._new.tree(new)
        if self._kind != "fixture" or not (isinstance(one, dict) and isinstance(other, dict)):
            return False
        return {**one, "addresses": None} == {**other, "addresses": None}

    def _old_traits(self, thing: Thing) -> Traits:
        return self._traits_of(self._old, thing)

    def _new_traits(self, thing: Thing) -> Traits:
        return self._traits_of(self._new, thing)

    def _traits_of(self, side: Side, thing: Thing) -> Traits:
        key = (side is self._new, thing)
        if key not in self._traits:
            self._traits[key] = traits_of(self._kind, side.tree(thing))
        return self._traits[key]
