"""A comparison narrowed to what somebody asked for, and to what the vault does not leave out."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

from showvault.compare.changes import Comparison
from showvault.compare.filters import (
    fixtures_of_group,
    keep_cues,
    keep_fixtures,
    keep_kinds,
    keep_lists,
)
from showvault.compare.noise import leave_out
from showvault.errors import ShowvaultError
from showvault.flows.near import say_near
from showvault.review.review import called_differently
from showvault.show.addressing import KINDS, Kind, Thing, cue_order, place_order
from showvault.show.asking import Asked, AskingError, read_asking
from showvault.show.parts import ShowParts
from showvault.show.trees import parse_part

NAMED_AT_MOST = 8
"""How many groups a hint names."""


class NoSuchGroupError(ShowvaultError):
    """Neither show has the group that was named."""

    exit_code = 4

    def __init__(self, group: str, there: Sequence[str] = ()) -> None:
        super().__init__(f"there is no group {group} in either show")
        alike = [place for place in there if place.partition(".")[2] == group]
        if alike:
            self.hint = f"with its page, it is --group {' or --group '.join(alike)}"
        elif there:
            more = f" and {len(there) - NAMED_AT_MOST} more" if len(there) > NAMED_AT_MOST else ""
            self.hint = f"the groups are {', '.join(there[:NAMED_AT_MOST])}{more}"


class NothingAskedForError(ShowvaultError):
    """Neither show has anything of what was asked for."""

    exit_code = 4

    def __init__(self, words: str, near: str) -> None:
        super().__init__(f"neither show has {words}", hint=near)


class NoSuchKindError(ShowvaultError):
    """A word that should be a kind of thing is none."""

    exit_code = 2

    def __init__(self, word: str) -> None:
        super().__init__(f"{word!r} is no kind of thing", hint=f"the kinds are {', '.join(KINDS)}")


@dataclass(frozen=True)
class Narrowing:
    """What to keep of a comparison; empty fields keep everything."""

    lists: tuple[str, ...] = ()
    cues: str = ""
    """A range of cues as people say it, "12-20"; of each list in ``lists``, else of list 1.

    A list may be said with it: "list 2 cues 5-9".
    """
    kinds: tuple[str, ...] = ()
    fixtures: str = ""
    """Fixtures as people say them, "101-108, 110"."""
    groups: tuple[str, ...] = ()
    called: bool = False
    """Whether only what a stage manager calls differently was asked for."""
    left_out: tuple[str, ...] = ()
    """Paths that the vault leaves out of comparisons."""

    @property
    def by_edits(self) -> bool:
        """Tell whether edits of some kinds were chosen, and with them what they make different."""
        return bool(self.kinds or self.called)

    @property
    def by_places(self) -> bool:
        """Tell whether cues or fixtures were chosen, which may differ without an edit of them."""
        return bool(self.cues or self.lists or self.fixtures or self.groups)

    def apply(self, comparison: Comparison, before: ShowParts, after: ShowParts) -> Comparison:
        """Return the comparison narrowed. Raises ShowvaultError where a word means nothing."""
        comparison = leave_out(comparison, self.left_out)
        if self.kinds:
            comparison = keep_kinds(comparison, [_kind(word) for word in self.kinds])
        both = {*before.parts, *after.parts}
        lists = {*_lists_of(before), *_lists_of(after)}
        there = [*both, *(Thing("cue_list", number) for number in lists)]
        for cue_list in self.lists:
            if cue_list not in lists:
                raise NothingAskedForError(f"a list {cue_list}", say_near(Asked("cue_list"), there))
        if self.cues:
            chosen = self._cues_chosen()
            if not any(asked.includes(thing) for asked in chosen for thing in both):
                words = " or ".join(asked.words for asked in chosen)
                raise NothingAskedForError(words, say_near(chosen[0], there))
            comparison = _keep_spans(comparison, chosen)
        elif self.lists:
            comparison = keep_lists(comparison, self.lists)
        fixtures = self.find_fixtures(before, after)
        if fixtures:
            comparison = keep_fixtures(comparison, fixtures)
        if self.called:
            comparison = replace(comparison, changes=tuple(called_differently(comparison)))
        return comparison

    def wants_cue(self, thing: Thing) -> bool:
        """Tell whether a cue is among those asked for; where cues were chosen, others are not."""
        if thing.kind != "cue":
            return not (self.cues or self.lists)
        if self.cues:
            return any(asked.includes(thing) for asked in self._cues_chosen())
        return not self.lists or thing.list in self.lists

    def _cues_chosen(self) -> list[Asked]:
        """Return the cues that were chosen, of one list each."""
        if self.cues.strip()[:1].isalpha():
            asked = _read_numbers(self.cues)
            if asked.kind != "cue":
                raise AskingError(self.cues, "say cues")
            return [asked]
        return [_read_numbers(f"list {one} cues {self.cues}") for one in self.lists or ("1",)]

    def find_fixtures(self, before: ShowParts, after: ShowParts) -> frozenset[str]:
        """Return the fixtures and cells that were chosen, by number or by group; none if none."""
        wanted: set[str] = set()
        if self.fixtures:
            asked = _read_numbers(f"fixtures {self.fixtures}")
            both = (*before.parts, *after.parts)
            wanted |= {thing.id for thing in both if asked.includes(thing)}
            wanted |= {end for span in asked.spans for end in span if "." in end}
            if not wanted:
                words = f"fixtures {self.fixtures}"
                raise NothingAskedForError(words, say_near(asked, both))
        for group in self.groups:
            wanted |= _members(group, (before, after))
        return frozenset(wanted)


def _read_numbers(words: str) -> Asked:
    """Read a choice by number alone. Raises AskingError."""
    asked = read_asking(words)
    if not asked.spans or asked.attribute:
        raise AskingError(words, "say numbers alone")
    order = cue_order if asked.kind == "cue" else place_order
    for first, last in asked.spans:
        if order(first) > order(last):
            raise AskingError(words, f"{first}-{last} runs backwards")
    return asked


def _lists_of(side: ShowParts) -> Collection[str]:
    held = side.outline.get("cue_lists") if isinstance(side.outline, dict) else None
    return held if isinstance(held, dict) else ()


_SAID: dict[str, Kind] = {
    "patch": "fixture",
    "channel": "fixture",
    "list": "cue_list",
    "type": "fixture_type",
}
"""Other words for a kind of thing."""


def _kind(word: str) -> Kind:
    wanted = word.lower().replace(" ", "_").replace("-", "_")
    for said in (wanted, wanted.removesuffix("s")):
        if said in _SAID:
            return _SAID[said]
    for kind in KINDS:
        if wanted in (kind, f"{kind}s"):
            return kind
    raise NoSuchKindError(word)


def _keep_spans(comparison: Comparison, chosen: Sequence[Asked]) -> Comparison:
    kept = [
        change
        for asked in chosen
        for first, last in asked.spans
        for change in keep_cues(comparison, first, last, asked.list).changes
    ]
    wanted = set(map(id, kept))
    return Comparison(
        tuple(change for change in comparison.changes if id(change) in wanted),
        comparison.left_out,
    )


def _groups_in(sides: Sequence[ShowParts]) -> list[str]:
    there = {thing.id for side in sides for thing in side.parts if thing.kind == "group"}
    return sorted(there, key=place_order)


def _members(group: str, sides: Sequence[ShowParts]) -> frozenset[str]:
    try:
        thing = read_asking(f"group {group}").single()
    except AskingError:
        raise NoSuchGroupError(group, _groups_in(sides)) from None
    members: frozenset[str] = frozenset()
    found = [side.parts[thing] for side in sides if thing in side.parts]
    if not found:
        raise NoSuchGroupError(group, _groups_in(sides))
    for part in found:
        members |= fixtures_of_group(parse_part(part.data))
    return members
