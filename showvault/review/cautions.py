"""What to say before a restored or merged show goes near a rig: once, naming the fixtures.

This program changes files, never a rig; but what it brings back may be loaded into a desk that
moves motors, strikes lamps, fires strobes and lasers. IEC 60825-1 is the standard for lasers; the
flash threshold is that of WCAG 2.3.1; the rest is common practice without a published source.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from showvault.show.model import Hazard

LOADING = (
    "loading a show can drop the output and move or reset fixtures: never during a performance or "
    "while people work on stage or under the rig; blind or in a visualiser first, then at low "
    "intensity"
)

_ISOLATE: Mapping[Hazard, str] = {
    "laser": "isolate lasers locally first; IEC 60825-1 and the laser safety officer decide",
    "flame": "isolate flame locally first; local code and the licensed operator decide",
    "pyrotechnic": "isolate pyrotechnics locally first; the law and the licensed operator decide",
    "fog": "fog: local code and the operator decide",
    "haze": "haze: local code and the operator decide",
    "uv": "ultraviolet: local code and the operator decide",
    "motor": "motors: keep clear; local code and the licensed operator decide",
    "moving": "fixtures that move: keep hands and ladders clear",
    "strobe": "strobes: more than three flashes in any second can set off a seizure (a guide)",
    "non_dim": "circuits that must not be dimmed: check the patch before the output comes up",
    "house": "house lights are in this show: who controls them while the house is open?",
    "emergency": "emergency lights have no place in a show: take them out of it",
}

_MOST_DANGEROUS_FIRST: tuple[Hazard, ...] = tuple(_ISOLATE)


@dataclass(frozen=True)
class Caution:
    """One thing to look out for, and the changed fixtures that it is about."""

    hazard: Hazard | None
    """None for what holds of every show."""
    fixtures: tuple[str, ...]
    text: str


def cautions_for(hazards: Mapping[Hazard, Sequence[str]]) -> list[Caution]:
    """Return the cautions for changed fixtures, the loading of the show first."""
    return [
        Caution(None, (), LOADING),
        *(
            Caution(hazard, tuple(hazards[hazard]), _ISOLATE[hazard])
            for hazard in _MOST_DANGEROUS_FIRST
            if hazards.get(hazard)
        ),
    ]
