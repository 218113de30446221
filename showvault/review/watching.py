"""What to watch first: where most of the stage looks different, and what is new and may hurt.

Runs of neighbouring cues of one scene are drawn together; those in which the most fixtures look
different come first. A share is of the fixtures that are in the patch of the new show.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from msgspec import UnsetType

from showvault.review.effect import CueEffect
from showvault.review.pairs import cues_of
from showvault.review.ranges import say_cues, say_fixtures
from showvault.review.review import Review
from showvault.show.addressing import Thing, cue_order, place_order, say_thing

MOST = 5
"""How many places are told at most."""


@dataclass(frozen=True)
class Watch:
    """A run of cues to look at, and how much of the stage differs in it at most."""

    cues: tuple[Thing, ...]
    scene: str
    fixtures: tuple[str, ...]
    """Those that look different in any of the cues."""
    share: float
    """Of the fixtures in the patch, 0 to 1."""
    text: str


def watch_first(review: Review, most: int = MOST) -> list[Watch]:
    """Return the runs of cues in which the most looks different, the widest first."""
    watches = [_watch(review, run) for run in _runs(review)]
    return sorted(watches, key=lambda watch: (-watch.share, -len(watch.cues)))[:most]


def warn_first(review: Review) -> list[str]:
    """Return sentences about light lost, light left on, live moves, flashing and hazards."""
    said = [
        *_say_light(review),
        *(
            f"{say_thing(move.cue)}: {say_fixtures([move.fixture])} now moves live "
            f"({', '.join(move.attributes)})"
            for move in review.live_moves
        ),
    ]
    for flash in review.flashing:
        rate = "at an unknown rate" if flash.after is None else f"{float(flash.after):.3g} a second"
        by = f"effect {flash.effect}" if flash.effect else flash.by
        said.append(f"{say_thing(flash.cue)}: {by} flashes {rate}: {say_fixtures(flash.fixtures)}")
    return said


def _runs(review: Review) -> Iterator[list[CueEffect]]:
    """Yield neighbouring cues of one scene that all look different."""
    by_cue = {effect.cue: effect for effect in review.effects}
    for cues in review.sides.pairs.lists():
        run: list[CueEffect] = []
        for number in sorted(cues_of(review.sides.after, cues.new_list), key=cue_order):
            effect = by_cue.get(Thing("cue", number, cues.new_list))
            if run and (effect is None or _scene(review, effect) != _scene(review, run[-1])):
                yield run
                run = []
            if effect is not None:
                run.append(effect)
        if run:
            yield run


def _scene(review: Review, effect: CueEffect) -> str:
    scene = cues_of(review.sides.after, effect.cue.list)[effect.cue.id].scene
    return "" if isinstance(scene, UnsetType) else scene


def _fixtures(run: Sequence[CueEffect]) -> set[str]:
    return {shift.fixture.partition(".")[0] for effect in run for shift in effect.shifts}


def _watch(review: Review, run: Sequence[CueEffect]) -> Watch:
    fixtures = tuple(sorted(_fixtures(run), key=place_order))
    there = len(review.sides.after_rig.types) or 1
    widest = max(len(_fixtures([effect])) for effect in run)
    scene = _scene(review, run[0])
    among = sorted(cues_of(review.sides.after, run[0].cue.list), key=cue_order)
    where = f"list {run[0].cue.list} {say_cues([e.cue.id for e in run], among)}"
    named = f"scene {scene}, {where}" if scene else where
    text = f"{named}: {widest} of {there} fixtures look different"
    return Watch(tuple(e.cue for e in run), scene, fixtures, min(widest / there, 1.0), text)


def _say_light(review: Review) -> Iterator[str]:
    """Yield light lost and light left on, neighbouring cues with the same fixtures as one."""
    for word in ("lost", "lit"):
        runs: dict[tuple[str, tuple[str, ...]], list[str]] = {}
        for change in review.light:
            fixtures = change.lost if word == "lost" else change.lit
            if fixtures:
                runs.setdefault((change.cue.list, fixtures), []).append(change.cue.id)
        for (number, fixtures), cues in runs.items():
            among = sorted(cues_of(review.sides.after, number), key=cue_order)
            what = "no longer lit" if word == "lost" else "lit, and dark before"
            yield f"list {number} {say_cues(cues, among)}: {say_fixtures(fixtures)} {what}"
