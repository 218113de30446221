"""A review narrowed to some edits, some fixtures or some cues.

- Only what was asked for is told. Why it differs may lie outside: `causes_outside` names that.
- An edit counts as a cause only where the very change that was asked for looks or plays otherwise.
"""

from collections.abc import Callable, Collection
from dataclasses import replace

from showvault.compare.changes import Change, Changed, Comparison, Moved
from showvault.review.effect import Because, CueEffect
from showvault.review.hazards import find_hazards
from showvault.review.lanes import Parameter
from showvault.review.moves import Sight
from showvault.review.review import Review
from showvault.show.addressing import Thing, thing_order


def told_alone(review: Review, comparison: Comparison) -> Review:
    """Return the review with other changes to tell: those of ``comparison``, out of its own."""
    kinds = {
        _key(one): kind
        for change, kind in zip(review.comparison.changes, review.kinds, strict=True)
        for one in (change, *(change.along if isinstance(change, Changed) else ()))
    }
    told = tuple(kinds[_key(change)] for change in comparison.changes)
    return replace(review, comparison=comparison, kinds=told)


def narrow_to_edits(review: Review) -> Review:
    """Return what differs because of the changes that are told."""
    causes, things = _things_of(review, "looks"), _things_of(review, "looks", "plays")
    narrowed = _narrow(review, lambda effect: _because_of(effect, causes))
    differs = {
        (effect.cue, shift.fixture) for effect in narrowed.effects for shift in effect.shifts
    }
    return replace(
        narrowed,
        effects=tuple(_because_alone(effect, causes) for effect in narrowed.effects),
        plays=tuple(play for play in review.plays if play.source in things),
        live_moves=tuple(
            move
            for move in review.live_moves
            if move.cue in things or (move.cue, move.fixture) in differs
        ),
        flashing=tuple(
            flash
            for flash in review.flashing
            if flash.cue in things
            or Thing("effect", flash.effect) in things
            or any((flash.cue, fixture) in differs for fixture in flash.fixtures)
        ),
    )


def narrow_to_fixtures(review: Review, fixtures: Collection[str]) -> Review:
    """Return what differs of these fixtures and cells; a number stands for all its cells."""
    wanted = {*fixtures, *(key.partition(".")[0] for key in fixtures)}

    def of_wanted(key: str) -> bool:
        return key in fixtures or key.partition(".")[0] in fixtures

    narrowed = _narrow(
        review,
        lambda effect: {
            (shift.fixture, shift.attribute) for shift in effect.shifts if of_wanted(shift.fixture)
        },
    )
    things = {change.thing for change in review.comparison.changes}
    return replace(
        narrowed,
        plays=tuple(
            play
            for play in review.plays
            if (of_wanted(play.level[0]) if play.level is not None else play.source in things)
        ),
        live_moves=tuple(move for move in review.live_moves if move.fixture in wanted),
        flashing=tuple(
            replace(flash, fixtures=lit)
            for flash in review.flashing
            if (lit := tuple(filter(of_wanted, flash.fixtures)))
        ),
    )


def narrow_to_cues(review: Review, wanted: Callable[[Thing], bool]) -> Review:
    """Return what differs in the cues that are wanted, whatever edit it comes from."""
    narrowed = _narrow(
        review,
        lambda effect: (
            {(shift.fixture, shift.attribute) for shift in effect.shifts}
            if wanted(effect.cue)
            else set()
        ),
    )
    return replace(
        narrowed,
        plays=tuple(play for play in review.plays if wanted(play.thing)),
        live_moves=tuple(move for move in review.live_moves if wanted(move.cue)),
        flashing=tuple(flash for flash in review.flashing if wanted(flash.cue)),
    )


def causes_outside(review: Review) -> list[Thing]:
    """Return the things whose edit makes a picture differ and is not among what is told."""
    told = _things_of(review, "looks")
    found = {
        because.cause.source
        for effect in review.effects
        for because in effect.because
        if because.cause.source not in told
    }
    return sorted(found, key=thing_order)


def _key(change: Change) -> tuple[object, ...]:
    """Return what a change is known by: of one that was narrowed, a field may be left out."""
    return change.thing, change.path if isinstance(change, Changed) else type(change)


def _narrow(review: Review, kept: Callable[[CueEffect], Collection[Parameter]]) -> Review:
    """Return the review with only those parameters of each effect that ``kept`` gives."""
    effects: list[CueEffect] = []
    sights: list[Sight] = []
    for effect, sight in zip(review.effects, review.sights, strict=True):
        parameters = kept(effect)
        if not parameters:
            continue
        effects.append(_effect_with(effect, parameters))
        fixtures = {key.partition(".")[0] for key, _ in parameters}
        sights.append(
            Sight(
                sight.cue,
                *(
                    tuple(one for one in of_sight if one in fixtures)
                    for of_sight in (sight.fixtures, sight.lost, sight.lit)
                ),
            )
        )
    return replace(
        review,
        effects=tuple(effects),
        sights=tuple(sights),
        hazards=find_hazards(review.sides, effects),
    )


def _effect_with(effect: CueEffect, parameters: Collection[Parameter]) -> CueEffect:
    because = (
        Because(one.cause, one.reach, tuple(p for p in one.parameters if p in parameters))
        for one in effect.because
    )
    return CueEffect(
        effect.cue,
        tuple(shift for shift in effect.shifts if (shift.fixture, shift.attribute) in parameters),
        tuple(one for one in because if one.parameters),
    )


def _because_alone(effect: CueEffect, causes: Collection[Thing]) -> CueEffect:
    kept = tuple(one for one in effect.because if one.cause.source in causes)
    return replace(effect, because=kept)


def _because_of(effect: CueEffect, things: Collection[Thing]) -> set[Parameter]:
    """Return what differs in a cue by an edit of one of these things."""
    return {
        parameter
        for because in effect.because
        if because.cause.source in things
        for parameter in because.parameters
    }


def _things_of(review: Review, *kinds: str) -> set[Thing]:
    told = zip(review.comparison.changes, review.kinds, strict=True)
    return {
        thing
        for change, kind in told
        if kind in kinds
        for thing in (
            (change.thing, change.from_) if isinstance(change, Moved) else (change.thing,)
        )
    }
