"""How often light flashes in a second: strobe channels, effects, chains of follows.

- A strobe is a function of a channel in Hz, straight between its physical ends, or a channel whose
  whole range is in Hz. One that does not tell its rate is in use at an unknown rate.
- An effect flashes once a cycle, as fast as the cue that starts it runs it.
- A chain flashes a fixture each time its intensity falls and rises again by a tenth of full or more
  (a general flash is a pair of opposing changes of 10 % or more: WCAG 2.2, criterion 2.3.1).

Rates are exact fractions of flashes a second. What is not found here is not thereby safe.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from msgspec import UnsetType

from showvault.look.chains import Chain
from showvault.look.fixtures import Rig, is_intensity
from showvault.look.levels import FULL, millionths, milliseconds
from showvault.look.tracking import Look
from showvault.show.model import Channel, ChannelFunction, CueEffect, Effect

FLASH_LIMIT = Fraction(3)
"""More than so many flashes in any one second can set off a seizure (WCAG 2.3.1: a guide here)."""

FLASH_STEP = FULL // 10
_STROBE_CHANNEL = re.compile(r"(shutter|strobe)\w*", re.IGNORECASE)


@dataclass(frozen=True)
class StrobeInUse:
    """A parameter that a look leaves in a strobe function."""

    fixture: str
    attribute: str
    function: str
    rate: Fraction | None
    """Flashes a second; None where the fixture type does not tell."""


def strobes_in(rig: Rig, look: Look) -> list[StrobeInUse]:
    """Return the strobes that a look leaves running, whether or not the fixture is lit."""
    found: list[StrobeInUse] = []
    for fixture, levels in look.levels.items():
        for attribute, level in levels.items():
            channel = rig.channel(fixture, attribute)
            strobe = strobe_of(fixture, channel, level) if channel is not None else None
            if strobe is not None:
                found.append(strobe)
    return found


def strobe_of(fixture: str, channel: Channel, level: int) -> StrobeInUse | None:
    """Return the strobe that a channel is in at a level; None where it is in none, or at 0 Hz."""
    function = function_at(channel, level)
    name = "" if function is None or isinstance(function.name, UnsetType) else function.name
    rate = strobe_rate(channel, level)
    told = "strobe" in name.lower() or (
        rate is not None and _STROBE_CHANNEL.fullmatch(channel.attribute)
    )
    return StrobeInUse(fixture, channel.attribute, name, rate) if told and rate != 0 else None


def strobe_rate(channel: Channel, level: int) -> Fraction | None:
    """Return the flashes a second of a channel at a level in millionths, or None."""
    function = function_at(channel, level)
    if function is not None and _in_hertz(function.unit):
        return _physical(function.physical, millionths(function.from_), _end_of(function), level)
    if function is None and _in_hertz(channel.unit):
        return _physical(channel.range, 0, FULL, level)
    return None


def function_at(channel: Channel, level: int) -> ChannelFunction | None:
    """Return the function a level lies in: from its start to before the next one's."""
    inside = [
        function
        for function in channel.functions or []
        if millionths(function.from_) <= level <= _end_of(function)
    ]
    return max(inside, key=lambda function: millionths(function.from_), default=None)


def effect_rate(effect: Effect, started: CueEffect | None = None) -> Fraction | None:
    """Return the flashes a second of an effect on intensities, shutters or emitters.

    None where it moves nothing of the kind, or does not say how long its cycle is.
    """
    cycle = milliseconds(effect.cycle_seconds)
    if cycle == 0 or not any(map(_flashes, effect.attributes or {})):
        return None
    rate = 1.0 if started is None or isinstance(started.rate, UnsetType) else started.rate
    return Fraction(1000, cycle) * Fraction(repr(rate))


def chain_rate(chain: Chain, looks: Mapping[tuple[str, str], Look]) -> dict[str, int]:
    """Return the most flashes that any second of a chain of follows gives, by fixture.

    ``looks`` holds the look of each cue of the chain. A loop is followed until a second is full.
    """
    steps = [(step.start, looks[step.ref]) for step in chain.steps if step.ref in looks]
    if chain.loops_to is not None and chain.length > 0:
        first = next(step.start for step in chain.steps if step.ref == chain.loops_to)
        round_ = [(start, look) for start, look in steps if start >= first]
        period = chain.length - first
        rounds = min(2000 // period + 2, 50) if period > 0 else 0
        steps += [
            (start + period * number, look)
            for number in range(1, rounds + 1)
            for start, look in round_
        ]
    fixtures = {
        (fixture, attribute)
        for _, look in steps
        for fixture, levels in look.levels.items()
        for attribute in levels
        if is_intensity(attribute)
    }
    rates: dict[str, int] = {}
    for fixture, attribute in sorted(fixtures):
        levels = [(at, look.levels.get(fixture, {}).get(attribute, 0)) for at, look in steps]
        most = _most_in_a_second(list(_flash_times(levels)))
        if most:
            rates[fixture] = most
    return rates


def _flash_times(levels: Sequence[tuple[int, int]]) -> Iterator[int]:
    """Yield when an intensity rises by a step or more after it has fallen by as much."""
    low = high = levels[0][1] if levels else 0
    fallen = False
    for at, level in levels:
        low, high = (min(low, level), high) if fallen else (low, max(high, level))
        if not fallen and high - level >= FLASH_STEP:
            fallen, low = True, level
        elif fallen and level - low >= FLASH_STEP:
            fallen, high = False, level
            yield at


def _most_in_a_second(times: Sequence[int]) -> int:
    most = first = 0
    for number, time in enumerate(times):
        while time - times[first] >= 1000:
            first += 1
        most = max(most, number - first + 1)
    return most


def _flashes(attribute: str) -> bool:
    return (
        is_intensity(attribute)
        or _STROBE_CHANNEL.fullmatch(attribute) is not None
        or attribute.startswith(("ColorAdd_", "ColorRGB_"))
    )


def _in_hertz(unit: str | UnsetType) -> bool:
    return not isinstance(unit, UnsetType) and unit.strip().lower() in ("hz", "hertz")


def _end_of(function: ChannelFunction) -> int:
    return FULL if isinstance(function.to, UnsetType) else millionths(function.to)


def _physical(
    ends: tuple[float, float] | UnsetType, low: int, high: int, level: int
) -> Fraction | None:
    if isinstance(ends, UnsetType):
        return None
    first, last = (Fraction(repr(end)) for end in ends)
    return first if high <= low else first + (last - first) * (level - low) / (high - low)
