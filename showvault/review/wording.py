"""One sentence for each change, in trade words.

Text of the show stands in it as it is, control characters included: whoever prints it makes it
harmless first.
"""

from collections.abc import Sequence

from msgspec import UNSET

from showvault.compare.changes import (
    Added,
    Change,
    Changed,
    Copied,
    Moved,
    Removed,
)
from showvault.compare.following import Followers
from showvault.review.field_wording import say_field_change
from showvault.review.ranges import say_fixtures, say_things
from showvault.review.values import (
    Scales,
    no_scales,
    say_level_pair,
    say_plain,
    say_stored,
)
from showvault.show.addressing import Thing, say_place, say_thing, thing_order
from showvault.show.attributes import say_attribute
from showvault.show.trees import Tree

LONGEST_PLACES = 60
"""How many letters a list of places may have, however many they are."""

NAMED_AT_MOST = 8
"""How many places a sentence lists before it only counts them."""


def say_change(change: Change, scales: Scales = no_scales) -> str:
    """Say a change: "list 1 cue 12.5: fixture 101 intensity 50 → 65 %"."""
    match change:
        case Added(thing, after):
            return f"{say_thing(thing)} added{_contents(thing, after)}"
        case Removed(thing, before):
            return f"{say_thing(thing)} removed{_contents(thing, before)}"
        case Changed():
            return f"{say_where(change)}: {say_what(change, scales)}"
        case Copied(thing, from_, after):
            copy = f"{say_thing(thing)} added, a copy of {say_number_of(from_, thing)}"
            return copy + _contents(thing, after)
        case Moved(thing, from_):
            return f"{say_thing(from_)} {say_arrival(thing, from_)}{say_references([change])}"


def say_where(change: Changed) -> str:
    """Say where a change is: "list 1 cue 12.5 part 2"."""
    part = f" part {change.part}" if change.part and len(change.path) > 2 else ""
    return say_thing(change.thing) + part


def say_what(change: Changed, scales: Scales = no_scales) -> str:
    """Say what changed, without the place: "fixture 101 intensity 50 → 65 %"."""
    if change.level is not None:
        return f"{say_fixtures([change.level[0]])} {say_level_change(change, scales)}"
    fields = (change, *change.along)
    said = [say_field_change(f.thing.kind, f.inside, f.before, f.after) for f in fields]
    return ", ".join(said)


def say_level_change(change: Changed, scales: Scales = no_scales) -> str:
    """Say what became of a stored level, without the fixture: "intensity 50 → 65 %"."""
    fixture, attribute = change.inside[1:3]
    name, scale = say_attribute(attribute), scales(fixture, attribute)
    match _sided(change):
        case (False, True):
            return f"{name} now stored: {say_stored(change.after, scale)}"
        case (True, False):
            return f"{name} no longer stored (was {say_stored(change.before, scale)})"
        case _:
            return f"{name} {say_level_pair(change.before, change.after, scale)}"


def say_arrival(thing: Thing, from_: Thing) -> str:
    """Say where a moved thing went: "became 112", "moved to list 2 cue 5"."""
    if thing.kind == "cue" and thing.list != from_.list:
        return f"moved to {say_thing(thing)}"
    return f"became {say_number_of(thing, from_)}"


def say_number_of(thing: Thing, beside: Thing) -> str:
    """Say a thing beside another of its kind, without repeating what both share."""
    match thing.kind:
        case "cue" if thing.list == beside.list:
            return f"cue {thing.id}"
        case "preset" if thing.id.partition(" ")[0] == beside.id.partition(" ")[0]:
            return say_place(thing.id.partition(" ")[2])
        case "cue" | "preset":
            return say_thing(thing)
        case _:
            return say_place(thing.id) if thing.kind != "fixture_type" else thing.id


def say_references(moved: Sequence[Moved]) -> str:
    """Say which references to moved things followed and which did not; empty if there are none."""
    said = ""
    followed = [thing for one in moved for thing in things_followed(one)]
    stayed = [reference.thing for one in moved for reference in one.stayed]
    if followed:
        said += f"; followed in {_places(followed)}"
    if stayed:
        said += f"; still named by the old number in {_places(stayed)}"
    return said


def things_followed(moved: Moved) -> list[Thing]:
    """Return the things whose references followed a moved thing, without looking for each one."""
    if isinstance(moved.followed, Followers):
        return moved.followed.things
    return [follower.thing for follower in moved.followed]


def _places(things: list[Thing]) -> str:
    distinct = sorted(set(things), key=thing_order)
    said = list(say_things(distinct))
    if len(distinct) <= NAMED_AT_MOST or sum(map(len, said)) <= LONGEST_PLACES:
        return ", ".join(said)
    kinds = {thing.kind for thing in distinct}
    noun = f"{kinds.pop().replace('_', ' ')}s" if len(kinds) == 1 else "places"
    return f"{len(distinct)} {noun}"


def _sided(change: Changed) -> tuple[bool, bool]:
    return change.before is not UNSET, change.after is not UNSET


def _contents(thing: Thing, tree: Tree) -> str:
    """Say in a few words what an added or removed thing holds."""
    if not isinstance(tree, dict):
        return ""
    told = [say_plain(tree[key]) for key in ("name", "label") if tree.get(key)]
    match thing.kind:
        case "fixture":
            told += [str(tree[key]) for key in ("type", "mode") if tree.get(key)]
        case "cue_list":
            told += _count(tree.get("cues"), "cue")
        case "group" | "effect":
            told += _members(tree.get("fixtures"))
        case "cue" | "preset" | "submaster":
            levels = tree.get("levels")
            told += _members(list(levels)) if isinstance(levels, dict) else []
            told += _count(tree.get("parts"), "part")
        case "macro":
            told += _count(tree.get("steps"), "step")
    return f": {', '.join(told)}" if told else ""


def _members(fixtures: Tree) -> list[str]:
    keys = [str(key) for key in fixtures] if isinstance(fixtures, list) else []
    return [say_fixtures(keys)] if keys else []


def _count(held: Tree, noun: str) -> list[str]:
    count = len(held) if isinstance(held, dict | list) else 0
    return [f"{count} {noun}{'s' if count > 1 else ''}"] if count else []
