"""Everything a reviewer is told of a comparison, put together.

The shows have to be understood; a comparison alone does not need that.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from showvault.compare.changes import Change, Changed, Comparison, Moved
from showvault.review.effect import CueEffect, effects_of
from showvault.review.flashes import Flashing, find_flashing
from showvault.review.hazards import find_hazards
from showvault.review.kinds import EffectKind, EffectKinds
from showvault.review.lanes import Parameter
from showvault.review.moves import LiveMove, Sight, find_live_moves, find_sights
from showvault.review.plays import Play, find_plays
from showvault.review.suspects import Sides, sides_of
from showvault.show.addressing import Thing
from showvault.show.model import Hazard, Show

CALLED_FIELDS = frozenset(["label", "called_on", "follow", "link", "trigger", "also_go"])
"""The fields of a cue that a stage manager calls by."""


@dataclass(frozen=True)
class Review:
    """What a comparison means on stage."""

    sides: Sides
    comparison: Comparison
    effects: tuple[CueEffect, ...]
    """The cues whose picture differs."""
    plays: tuple[Play, ...]
    kinds: tuple[EffectKind, ...]
    """Of each change of the comparison, in its order."""
    live_moves: tuple[LiveMove, ...]
    sights: tuple[Sight, ...]
    """What can be seen of each of the effects, in their order."""
    flashing: tuple[Flashing, ...]
    hazards: Mapping[Hazard, tuple[str, ...]]
    """Changed fixtures by the hazards they carry."""

    @property
    def light(self) -> tuple[Sight, ...]:
        """Return the cues in which fixtures lost their light, or are lit that were dark."""
        return tuple(sight for sight in self.sights if sight.lost or sight.lit)

    def effect_of(self, cue: Thing) -> CueEffect | None:
        """Return what differs in a cue; None where its picture is as it was."""
        return self._by_cue.get(cue)

    def cues_because_of(self, thing: Thing) -> list[Thing]:
        """Return the cues whose picture differs because of an edit of a thing."""
        return self._because_of.get(thing, [])

    def lit_in(self, cue: Thing) -> frozenset[str]:
        """Return the fixtures that look different in a cue and are lit before or after."""
        return self._lit.get(cue, frozenset())

    def seen_because_of(self, thing: Thing) -> Mapping[Parameter, list[Thing]]:
        """Return what differs by an edit of a thing while its fixture is lit, with the cues."""
        return self._seen_because_of.get(thing, {})

    @cached_property
    def _lit(self) -> Mapping[Thing, frozenset[str]]:
        return {sight.cue: frozenset(sight.fixtures) for sight in self.sights}

    @cached_property
    def _seen_because_of(self) -> Mapping[Thing, Mapping[Parameter, list[Thing]]]:
        found: dict[Thing, dict[Parameter, list[Thing]]] = {}
        for effect in self.effects:
            lit = self.lit_in(effect.cue)
            for because in effect.because:
                of_source = found.setdefault(because.cause.source, {})
                for parameter in because.parameters:
                    if parameter[0].partition(".")[0] in lit:
                        of_source.setdefault(parameter, []).append(effect.cue)
        return found

    @cached_property
    def _by_cue(self) -> Mapping[Thing, CueEffect]:
        return {effect.cue: effect for effect in self.effects}

    @cached_property
    def _because_of(self) -> Mapping[Thing, list[Thing]]:
        found: dict[Thing, list[Thing]] = {}
        for effect in self.effects:
            for source in dict.fromkeys(because.cause.source for because in effect.because):
                found.setdefault(source, []).append(effect.cue)
        return found


def review_shows(before: Show, after: Show, comparison: Comparison) -> Review:
    """Return what a comparison of two shows means on stage."""
    sides = sides_of(before, after, comparison)
    effects = effects_of(sides)
    plays = find_plays(sides, comparison)
    kinds = EffectKinds(sides, effects)
    return Review(
        sides,
        comparison,
        tuple(effects),
        tuple(plays),
        tuple(kinds.kind_of(change) for change in comparison.changes),
        tuple(find_live_moves(sides, comparison, effects)),
        tuple(find_sights(sides, effects)),
        tuple(find_flashing(sides, effects, plays)),
        find_hazards(sides, effects),
    )


def called_differently(comparison: Comparison) -> list[Change]:
    """Return what a stage manager calls differently: labels, follows, cues come and gone."""
    return [
        change
        for change in comparison.changes
        if (
            change.thing.kind == "cue"
            and (
                not isinstance(change, Changed) or (change.inside[:1] or ("",))[0] in CALLED_FIELDS
            )
        )
        or (isinstance(change, Moved) and change.thing.kind == "cue_list")
    ]
