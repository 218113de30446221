"""One thing out of a version into the show as it is now, and what that does on stage."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Literal

from showvault.check.finding import Finding
from showvault.compare.differ import compare_shows
from showvault.errors import ShowvaultError
from showvault.flows.combine import write_checked
from showvault.flows.near import say_near
from showvault.flows.new_findings import find_new
from showvault.flows.rewriting import CurrentShow
from showvault.merge.bringing import Bringing, Brought, Needs
from showvault.merge.keeping_looks import keep_looks
from showvault.merge.portions import OneAttribute, OneUniverse, Portion, Whole, attributes_in
from showvault.review.cautions import Caution, cautions_for
from showvault.review.effect import CueEffect, effects_of
from showvault.review.hazards import find_hazards
from showvault.review.scales import scales_of
from showvault.review.suspects import sides_of
from showvault.review.values import Scales
from showvault.show.addressing import Thing, thing_order
from showvault.show.asking import Asked
from showvault.show.attributes import say_attribute
from showvault.show.parts import ShowParts, parts_of
from showvault.show.reading import decode_show

Neighbours = Literal["as they come", "keep looks"]
"""Whether other cues may look different through tracking, or get stores that keep their looks."""


class NothingThereError(ShowvaultError):
    """The version has none of what was asked for."""

    exit_code = 4

    def __init__(self, version: str, words: str, near: str) -> None:
        super().__init__(f"{version} has no {words}", hint=near)


class AttributeNotStoredError(ShowvaultError):
    """What was asked for stores nothing of an attribute, neither then nor now."""

    exit_code = 4

    def __init__(self, version: str, asked: Asked, there: Collection[str]) -> None:
        what = asked.words.rpartition(" ")[0]
        super().__init__(
            f"{what} stores no {say_attribute(asked.attribute)}, neither in {version} nor now"
        )
        if there:
            self.hint = f"it stores: {', '.join(sorted(there))}"


class NoSuchPortionError(ShowvaultError):
    """An attribute was asked of something that stores none."""

    exit_code = 2

    def __init__(self, words: str) -> None:
        super().__init__(
            f"{words!r}: only cues and presets store attributes", hint="such as: cue 12 dimmer"
        )


@dataclass(frozen=True)
class BroughtBack:
    """A show with things brought back, not written yet."""

    data: bytes
    brought: Brought
    asked: tuple[CueEffect, ...]
    """The cues asked for whose picture differs."""
    others: tuple[CueEffect, ...]
    """The other cues whose picture differs, through tracking or a preset."""
    stores: tuple[Thing, ...]
    """The cues that got stores which keep their looks."""
    findings: tuple[Finding, ...]
    cautions: tuple[Caution, ...]
    scales: Scales
    """The units in which levels are said."""


def bring_back(
    version: ShowParts,
    name: str,
    current: CurrentShow,
    asked: Asked,
    words: str,
    *,
    needs: Needs,
    neighbours: Neighbours,
) -> BroughtBack:
    """Return the current show with what was asked for as it was in a version.

    Raises ShowvaultError where the version has none of it, where its place is taken, or where what
    it needs is gone and may not come along.
    """
    before = decode_show(current.file.data, current.file.path.name)
    bringing = Bringing(version, parts_of(current.cut), needs)
    things, portion = _select(bringing, asked, words)
    if not things:
        raise NothingThereError(name, words, say_near(asked, bringing.source.things()))
    if isinstance(portion, OneAttribute):
        _refuse_unless_stored(bringing, things, portion, name, asked)
    brought = bringing.bring(things, portion)
    merged = brought.merged
    data, cut, after = write_checked(current.cut, merged)
    comparison = compare_shows(parts_of(current.cut), parts_of(cut))
    effects = effects_of(sides_of(before, after, comparison))
    stores: tuple[Thing, ...] = ()
    if neighbours == "keep looks":
        merged, stores = keep_looks(
            merged, parts_of(current.cut), before, after, effects, _named(brought)
        )
        if stores:
            data, cut, after = write_checked(current.cut, merged)
            comparison = compare_shows(parts_of(current.cut), parts_of(cut))
    sides = sides_of(before, after, comparison)
    effects = effects_of(sides)
    named = _named(brought)
    return BroughtBack(
        data,
        brought,
        tuple(effect for effect in effects if effect.cue in named),
        tuple(effect for effect in effects if effect.cue not in named),
        stores,
        find_new([before], [comparison], after),
        tuple(cautions_for(find_hazards(sides, effects))),
        scales_of(parts_of(cut)),
    )


def _named(brought: Brought) -> frozenset[Thing]:
    return frozenset(brought.asked)


def _select(bringing: Bringing, asked: Asked, words: str) -> tuple[Sequence[Thing], Portion]:
    source = bringing.source
    if asked.universe is not None:
        return _in_universe(bringing, asked.universe), OneUniverse(asked.universe)
    if asked.attribute:
        if asked.kind not in ("cue", "preset"):
            raise NoSuchPortionError(words)
        return asked.select(source.parts), OneAttribute(asked.attribute)
    if asked.kind == "cue_list":
        lists = asked.select(source.cues)
        return [thing for one in lists for thing in (one, *source.cues[one])], Whole()
    return asked.select(source.things()), Whole()


def _refuse_unless_stored(
    bringing: Bringing, things: Sequence[Thing], portion: OneAttribute, name: str, asked: Asked
) -> None:
    """Refuse an attribute that is mistyped. Raises AttributeNotStoredError."""
    there: set[str] = set()
    for thing in things:
        there |= attributes_in(bringing.source.tree(thing))
        place = bringing.now(thing)
        if place is not None:
            there |= attributes_in(bringing.current.tree(place))
    if not any(map(portion.is_named, there)):
        raise AttributeNotStoredError(name, asked, there)


def _in_universe(bringing: Bringing, universe: int) -> list[Thing]:
    found = []
    for thing in bringing.source.parts:
        if thing.kind != "fixture":
            continue
        trees = [bringing.source.tree(thing)]
        place = bringing.now(thing)
        if place is not None:
            trees.append(bringing.current.tree(place))
        starts = (start for tree in trees for start in tree.get("addresses", ()))
        if any(start["universe"] == universe for start in starts):
            found.append(thing)
    return sorted(found, key=thing_order)
