"""What to watch first: where most of the stage looks different, and what is new and may hurt.

Runs of neighbouring cues of one scene are drawn together; those in which the most lit fixtures
look different come first: what a dark one does is not watched. A share is of the fixtures that are
in the patch of the new show.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from msgspec import UnsetType

from showvault.review.moves import Sight
from showvault.review.pairs import cues_of
from showvault.review.ranges import say_cues, say_fixtures
from showvault.review.review import Review
from showvault.show.addressing import Thing, cue_order, place_order, say_thing
from showvault.show.attributes import feature_group

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
            f"({', '.join(_moving(move.attributes))})"
            for move in review.live_moves
        ),
    ]
    for flash in review.flashing:
        rate = "at an unknown rate" if flash.after is None else f"{float(flash.after):.3g} a second"
        by = f"effect {flash.effect}" if flash.effect else flash.by
        said.append(f"{say_thing(flash.cue)}: {by} flashes {rate}: {say_fixtures(flash.fixtures)}")
    return said


def _moving(attributes: Sequence[str]) -> list[str]:
    """Say what of a fixture moves: its position, colour or gobo."""
    groups = dict.fromkeys(feature_group(attribute) for attribute in attributes)
    return [_MOVING.get(group, group) for group in groups]


_MOVING = {"Position": "position", "Color": "colour", "Gobo": "gobo"}


def _runs(review: Review) -> Iterator[list[Sight]]:
    """Yield neighbouring cues of one scene in which something can be seen."""
    by_cue = {sight.cue: sight for sight in review.sights if sight.fixtures}
    for cues in review.sides.pairs.lists():
        run: list[Sight] = []
        for number in sorted(cues_of(review.sides.after, cues.new_list), key=cue_order):
            sight = by_cue.get(Thing("cue", number, cues.new_list))
            if run and (sight is None or _scene(review, sight) != _scene(review, run[-1])):
                yield run
                run = []
            if sight is not None:
                run.append(sight)
        if run:
            yield run


def _scene(review: Review, sight: Sight) -> str:
    scene = cues_of(review.sides.after, sight.cue.list)[sight.cue.id].scene
    return "" if isinstance(scene, UnsetType) else scene


def _watch(review: Review, run: Sequence[Sight]) -> Watch:
    fixtures = {fixture for sight in run for fixture in sight.fixtures}
    there = len(review.sides.after_rig.types) or 1
    widest = max(len(sight.fixtures) for sight in run)
    scene = _scene(review, run[0])
    among = sorted(cues_of(review.sides.after, run[0].cue.list), key=cue_order)
    where = f"list {run[0].cue.list} {say_cues([sight.cue.id for sight in run], among)}"
    named = f"scene {scene}, {where}" if scene else where
    most = "" if len(run) == 1 else "up to "
    text = f"{named}: {most}{widest} of {there} fixtures look different"
    return Watch(
        tuple(sight.cue for sight in run),
        scene,
        tuple(sorted(fixtures, key=place_order)),
        min(widest / there, 1.0),
        text,
    )


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
