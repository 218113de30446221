"""Things out of an older show into the current one, with what they need.

- A thing goes where it is called now; one that is gone goes back to its old number if that is free.
- What it names is called as it is now. A preset, fixture, effect, type or curve that is gone comes
  along where its number is free, or, as somebody chooses, gives its plain values, or is refused.
- Where the number is taken by something else, a preset gives its plain values (which changes
  nothing else on stage); levels of a fixture and an effect whose number is taken are left out.
- A cue that a link leads to does not come along; that the link leads nowhere is named.

Common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

from showvault.compare.fields import same_value
from showvault.compare.likeness import UNLIKE, likeness, traits_of
from showvault.compare.matching import match_things
from showvault.compare.references import references_in
from showvault.compare.sides import SHOW, Side
from showvault.errors import ShowvaultError
from showvault.merge.contents import AsInMine, Content, Written
from showvault.merge.merger import Merged
from showvault.merge.plain import GaveUp, with_plain_values, without_levels_of
from showvault.merge.portions import Portion, Whole, portion_of, put_portion
from showvault.merge.renaming import rename_references
from showvault.show.addressing import Kind, Thing, say_thing
from showvault.show.parts import ShowParts
from showvault.show.trees import Tree

Needs = Literal["bring", "values", "refuse"]
"""What to do about a thing that is needed and gone."""

_COMES_ALONG: frozenset[Kind] = frozenset({"preset", "fixture", "effect", "fixture_type", "curve"})


class PlaceTakenError(ShowvaultError):
    """Something else has the number that a thing would go back to."""

    exit_code = 1

    def __init__(self, thing: Thing) -> None:
        super().__init__(
            f"{say_thing(thing)} cannot come back: its number is taken by something else now",
            hint="renumber what stands there, save, and bring it back then",
        )


class NeedsMissingError(ShowvaultError):
    """What is asked for needs things that are gone, and nothing may come along."""

    exit_code = 1

    def __init__(self, missing: Sequence[Thing]) -> None:
        named = ", ".join(map(say_thing, missing))
        super().__init__(
            f"what it needs is gone: {named}",
            hint="--needs bring brings it too, --needs values stores plain values instead",
        )


@dataclass(frozen=True)
class Brought:
    """The current show with things brought back."""

    merged: Merged
    asked: tuple[Thing, ...]
    """What was asked for, by its number now."""
    along: tuple[Thing, ...]
    """What came along because it was needed."""
    notes: tuple[str, ...]


@dataclass
class _Bag:
    contents: dict[Thing, Tree] = field(default_factory=dict)
    along: list[Thing] = field(default_factory=list)
    missing: list[Thing] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


class Bringing:
    """An older show and the current one."""

    def __init__(self, source: ShowParts, current: ShowParts, needs: Needs) -> None:
        self.source, self.current = Side(source), Side(current)
        self._needs = needs
        matches = match_things(self.source, self.current)
        renames, gone = matches.renames, set(matches.removed)
        lists_gone = {thing.id for thing in gone if thing.kind == "cue_list"}
        self._now: dict[Thing, Thing] = {
            thing: renames.new_name(thing)
            for thing in self.source.things()
            if thing not in gone and (thing.list not in lists_gone or thing in matches.moved)
        }
        self._bag = _Bag()
        self._asked: set[Thing] = set()

    def now(self, thing: Thing) -> Thing | None:
        """Return what a thing of the older show is called now; None where it is gone."""
        return self._now.get(thing)

    def place_of(self, thing: Thing) -> Thing:
        """Return where a thing of the older show goes. Raises PlaceTakenError."""
        now = self._now.get(thing)
        if now is not None:
            return now
        place = thing
        if thing.kind == "cue":
            place = Thing("cue", thing.id, self.place_of(Thing("cue_list", thing.list)).id)
        if place in self.current:
            raise PlaceTakenError(thing)
        return place

    def bring(self, asked_for: Sequence[Thing], portion: Portion) -> Brought:
        """Bring things of the older show, or a portion of each.

        Raises PlaceTakenError or NeedsMissingError.
        """
        self._asked |= set(asked_for)
        asked = []
        for thing in asked_for:
            place = self.place_of(thing)
            if place != thing:
                self._bag.notes.append(f"{say_thing(thing)} is {say_thing(place)} now")
            there = place in self.current
            self._put(
                thing, place, portion_of(self.source.tree(thing), portion if there else Whole())
            )
            if there:
                old, current = self._bag.contents[place], self.current.tree(place)
                self._bag.contents[place] = put_portion(portion, old, current)
            asked.append(place)
        if self._bag.missing and self._needs == "refuse":
            raise NeedsMissingError(list(dict.fromkeys(self._bag.missing)))
        things: dict[Thing, Content] = {thing: AsInMine(thing) for thing in self.current.things()}
        for place, tree in self._bag.contents.items():
            there = place in self.current and same_value(self.current.tree(place), tree)
            things[place] = AsInMine(place) if there else Written(tree)
        merged = Merged(self.current.tree(SHOW), things, ())
        return Brought(
            merged, tuple(asked), tuple(self._bag.along), tuple(dict.fromkeys(self._bag.notes))
        )

    def _put(self, thing: Thing, place: Thing, tree: Tree) -> None:
        if thing.kind == "cue":
            self._need_list(thing, place)
        for target in dict.fromkeys(found.target for found in references_in(thing, tree)):
            tree = self._meet(thing, target, tree)
        self._bag.contents[place] = rename_references(tree, thing, place, self._name_of)

    def _name_of(self, thing: Thing) -> Thing:
        return self._now.get(thing, thing)

    def _need_list(self, cue: Thing, place: Thing) -> None:
        needed = Thing("cue_list", place.list)
        if needed not in self.current and needed not in self._bag.contents:
            self._bag.contents[needed] = self.source.tree(Thing("cue_list", cue.list))
            self._bag.along.append(needed)

    def _meet(self, thing: Thing, target: Thing, tree: Tree) -> Tree:
        """Return the tree with one thing that it names seen to."""
        if target not in self.source or target in self._asked:
            return tree
        now = self._now.get(target)
        if now is not None and not self._is_another(target, now):
            return tree
        if target.kind not in _COMES_ALONG:
            if now is None:
                said = f"{say_thing(thing)} names {say_thing(target)}, which is gone"
                self._bag.notes.append(said)
            return tree
        taken = now is not None or target in self.current
        if not taken:
            self._bag.missing.append(target)
            if self._needs == "bring" or target.kind not in ("preset", "fixture", "effect"):
                self._bring_along(target)
                return tree
        return self._without(thing, target, tree, "is another one now" if taken else "is gone")

    def _bring_along(self, target: Thing) -> None:
        if target in self._bag.contents:
            return
        self._bag.along.append(target)
        self._bag.contents[target] = {}
        tree = self.source.tree(target)
        if target.kind == "fixture" and isinstance(tree, dict) and tree.get("addresses"):
            tree = {key: value for key, value in tree.items() if key != "addresses"}
            self._bag.notes.append(f"{say_thing(target)} comes back without its addresses")
        self._put(target, target, tree)

    def _without(self, thing: Thing, target: Thing, tree: Tree, why: str) -> Tree:
        if target.kind == "preset":
            done: GaveUp = with_plain_values(tree, target, self.source)
            what = "plain values instead"
        else:
            done = without_levels_of(tree, target)
            what = "left out"
        held = f" ({done.lost} could not be told and are left out)" if done.lost else ""
        self._bag.notes.append(f"{say_thing(thing)}: {say_thing(target)} {why}: {what}{held}")
        return done.tree

    def _is_another(self, old: Thing, new: Thing) -> bool:
        """Tell whether what has a number now is not what had it: another name, unlike content."""
        if old.kind not in ("preset", "effect", "fixture") or old != new:
            return False
        before, after = self.source.tree(old), self.current.tree(new)
        if not isinstance(before, dict) or not isinstance(after, dict):
            return False
        if before.get("name") == after.get("name"):
            return False
        one, other = traits_of(old.kind, before), traits_of(old.kind, after)
        return likeness(one, other) < UNLIKE
