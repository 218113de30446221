"""Which changed fixtures carry a hazard."""

from collections.abc import Iterable

from showvault.review.effect import CueEffect
from showvault.review.suspects import Sides
from showvault.show.addressing import place_order
from showvault.show.model import Hazard, Show


def find_hazards(sides: Sides, effects: Iterable[CueEffect]) -> dict[Hazard, tuple[str, ...]]:
    """Return the fixtures whose looks differ or that were edited, by hazard."""
    changed = {shift.fixture.partition(".")[0] for effect in effects for shift in effect.shifts} | {
        thing.id for thing in sides.touched.get("fixture", ())
    }
    found: dict[Hazard, set[str]] = {}
    for number in changed:
        old = sides.pairs.old_key(number)
        for hazard in {*hazards_of(sides.after, number), *hazards_of(sides.before, old or "")}:
            found.setdefault(hazard, set()).add(number)
    return {
        hazard: tuple(sorted(fixtures, key=place_order))
        for hazard, fixtures in sorted(found.items())
    }


def hazards_of(show: Show, fixture: str) -> list[Hazard]:
    """Return the hazards that a fixture's type names."""
    patched = (show.patch or {}).get(fixture)
    of_type = (show.fixture_types or {}).get(patched.type) if patched is not None else None
    return (of_type.hazards or []) if of_type is not None else []
