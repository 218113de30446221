"""Who is who on three sides, and what each thing is called in the merged show.

Everything of the base is followed to what it is on either side (compare.matching). What came on one
side only is a thing of that side; a cue list that came on both sides under one number is one list.
A name is merged like any value: whoever did not renumber a thing has no say in its number. A cue's
number belongs to its list, so a list that moved takes along the cues that the other side put in.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Literal

from showvault.compare.matches import Matches
from showvault.compare.matching import match_things
from showvault.compare.sides import SHOW, Side
from showvault.merge.conflicts import Decisions, conflict_of_moves
from showvault.merge.three_way import Clash, merge_value
from showvault.show.addressing import Thing, thing_order

Origin = Literal["base", "mine", "theirs"]
ORIGINS: tuple[Origin, ...] = Origin.__args__  # type: ignore[attr-defined]


@dataclass(eq=False)
class One:
    """One thing on three sides; None where a side does not have it."""

    base: Thing | None
    mine: Thing | None
    theirs: Thing | None
    name: Thing = field(default=SHOW)
    """What it is called in the merged show."""

    def on(self, origin: Origin) -> Thing | None:
        """Return its name on one side."""
        match origin:
            case "base":
                return self.base
            case "mine":
                return self.mine
            case "theirs":
                return self.theirs

    @property
    def any_name(self) -> Thing:
        """Return a name that some side knows it by, the base first."""
        return self.base or self.mine or self.theirs or SHOW


@dataclass(frozen=True)
class WhoIsWho:
    """Every thing of three shows once."""

    everyone: list[One]
    by_name: Mapping[Origin, Mapping[Thing, One]]

    def new_name(self, origin: Origin, thing: Thing) -> Thing:
        """Return what something that a side names is called in the merged show."""
        one = self.by_name[origin].get(thing)
        return thing if one is None else one.name


def find_who_is_who(sides: Mapping[Origin, Side], decisions: Decisions) -> WhoIsWho:
    """Follow every thing through three shows; two new numbers for one thing are a conflict."""
    base = sides["base"]
    now: dict[Origin, dict[Thing, Thing]] = {
        origin: _follow(base, sides[origin]) for origin in ("mine", "theirs")
    }
    everyone = [
        One(thing, now["mine"].get(thing), now["theirs"].get(thing)) for thing in base.things()
    ]
    everyone += _arrivals(sides, now)
    by_name: dict[Origin, dict[Thing, One]] = {origin: {} for origin in ORIGINS}
    for one in everyone:
        for origin in ORIGINS:
            thing = one.on(origin)
            if thing is not None:
                by_name[origin][thing] = one
    who = WhoIsWho(everyone, by_name)
    for one in sorted(everyone, key=lambda one: one.any_name.kind == "cue"):  # lists before cues
        one.name = _merged_name(one, who, decisions)
    return who


def _follow(base: Side, side: Side) -> dict[Thing, Thing]:
    """Return what each thing of the base is called on a side; what is gone is not in it."""
    matches = match_things(base, side)
    renames, gone = matches.renames, _removed(matches, base)
    return {thing: renames.new_name(thing) for thing in base.things() if thing not in gone}


def _removed(matches: Matches, base: Side) -> set[Thing]:
    gone = set(matches.removed)
    for cue_list in matches.removed:
        gone |= {cue for cue in base.cues.get(cue_list, ()) if cue not in matches.moved}
    return gone


def _arrivals(
    sides: Mapping[Origin, Side], now: Mapping[Origin, Mapping[Thing, Thing]]
) -> Iterable[One]:
    mine, theirs = (
        [thing for thing in sides[origin].things() if thing not in known]
        for origin, known in ((o, set(now[o].values())) for o in now)
    )
    lists = {thing for thing in mine if thing.kind == "cue_list"}
    both = lists & {thing for thing in theirs if thing.kind == "cue_list"}
    for thing in mine:
        yield One(None, thing, thing if thing in both else None)
    for thing in theirs:
        if thing not in both:
            yield One(None, None, thing)


def _merged_name(one: One, who: WhoIsWho, decisions: Decisions) -> Thing:
    names: dict[Origin, Thing] = {
        origin: thing for origin in ORIGINS if (thing := one.on(origin)) is not None
    }
    if one.base is None:
        origin = next(iter(names))
        return _in_merged_list(names[origin], origin, who)
    places = {origin: _place(thing, origin, who) for origin, thing in names.items()}
    base = places["base"]
    merged = merge_value(base, places.get("mine", base), places.get("theirs", base))
    if isinstance(merged, Clash):
        conflict = conflict_of_moves(one.base, names["mine"], names["theirs"])
        chosen = decisions.settle(conflict)
    else:
        chosen = next(origin for origin, place in places.items() if place == merged)
    return _in_merged_list(names[chosen], chosen, who)


def _place(thing: Thing, origin: Origin, who: WhoIsWho) -> tuple[int, str]:
    """Return a name that compares across sides: the list itself, whatever it is called there."""
    if thing.kind != "cue":
        return (0, thing.id)
    return (id(who.by_name[origin][Thing("cue_list", thing.list)]), thing.id)


def _in_merged_list(thing: Thing, origin: Origin, who: WhoIsWho) -> Thing:
    if thing.kind != "cue":
        return thing
    cue_list = who.by_name[origin][Thing("cue_list", thing.list)]
    return Thing("cue", thing.id, cue_list.name.id)


def name_on(one: One, origin: Origin, who: WhoIsWho) -> Thing:
    """Return the name a thing has on one side, in the merged show's lists."""
    thing = one.on(origin)
    return one.name if thing is None else _in_merged_list(thing, origin, who)


def find_shared_names(everyone: Iterable[One]) -> list[tuple[Thing, list[One]]]:
    """Return the names that more than one thing has, in the order of a show."""
    holders: dict[Thing, list[One]] = defaultdict(list)
    for one in everyone:
        holders[one.name].append(one)
    shared = [(name, found) for name, found in holders.items() if len(found) > 1]
    return sorted(shared, key=lambda item: thing_order(item[0]))
