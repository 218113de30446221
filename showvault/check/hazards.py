"""What in a show can hurt someone, as far as it can be seen in the file.

- House and emergency lights: emergency lighting has no place in a show.
- Lasers, flame and pyrotechnics: isolated locally before a show is loaded.
- Strobes in use and effects that flash: more than three flashes in any one second can set off a
  seizure (general flash threshold of WCAG 2.3.1, a rule for screens, here a guide).

"None found" is not "safe": the note says what was looked at. Where no standard is named, common
practice, no source.
"""

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from msgspec import UnsetType

from showvault.check.contents import Contents
from showvault.check.finding import Finding, name_fixtures, note, warning
from showvault.look.flashing import FLASH_LIMIT, StrobeInUse, effect_rate, strobes_in
from showvault.look.levels import millionths
from showvault.look.presets import held_level, preset_named
from showvault.look.storing import parts_in_order
from showvault.look.tracking import Look
from showvault.show.addressing import place_order, say_place
from showvault.show.model import Channel, StoredValue, Value

_FLAGGED = {
    "emergency": ("emergency-light", "emergency lighting has no place in a show"),
    "house": ("house-light", "house lights: make sure that nothing can leave people in the dark"),
    "laser": (
        "laser",
        "isolate lasers locally before this show is loaded; the laser safety "
        "officer decides (IEC 60825-1)",
    ),
    "flame": (
        "flame",
        "isolate flame locally before this show is loaded; local code and the "
        "licensed operator decide",
    ),
    "pyrotechnic": (
        "pyrotechnic",
        "isolate pyrotechnics locally before this show is loaded; local "
        "code and the licensed operator decide",
    ),
}


def find_hazards(contents: Contents) -> Iterator[Finding]:
    """Name the fixtures of each type that carries a hazard, one finding a hazard and type.

    ``emergency-light`` is a warning; ``house-light``, ``laser``, ``flame`` and ``pyrotechnic`` are
    notes.
    """
    types = contents.show.fixture_types or {}
    of_type: dict[str, list[str]] = {}
    for number, name in contents.rig.types.items():
        of_type.setdefault(name, []).append(number)
    for hazard, (rule, sentence) in _FLAGGED.items():
        say = warning if hazard == "emergency" else note
        for name in sorted(of_type):
            if name in types and hazard in (types[name].hazards or []):
                fixtures = name_fixtures(of_type[name])
                yield say(rule, ("fixture_types", name), f"{fixtures}: {sentence}")


def find_strobes_in_use(contents: Contents) -> Iterator[Finding]:
    """``strobe-in-use`` (warning), one a cue, part or submaster; ``strobe-looked-at`` (note)."""
    able = _strobe_attributes(contents)
    if not able:
        return
    found = False
    for path, levels in contents.stored_levels():
        stored = {
            key: _levels_of(contents, key, levels[key], able[key]) for key in levels.keys() & able
        }
        strobes = strobes_in(contents.rig, Look("", "", stored))
        if strobes:
            found = True
            yield warning("strobe-in-use", path[:-1], _say_strobes(strobes))
    if not found:
        names = name_fixtures({key.partition(".")[0] for key in able})
        yield note(
            "strobe-looked-at",
            (),
            f"{names} can strobe; no cue or submaster stores it. Looked at: stored levels. Not "
            "looked at: macros, and what is done by hand",
        )


def find_flashing_effects(contents: Contents) -> Iterator[Finding]:
    """``effect-flashes`` (warning): more than three cycles a second on light (WCAG 2.3.1)."""
    effects = contents.show.effects or {}
    started: set[str] = set()
    for number, cue_number, cue in contents.cues():
        for _, holder in parts_in_order(cue):
            for place, cue_effect in (holder.effects or {}).items():
                if place not in effects or cue_effect.state in ("stop", "release"):
                    continue
                started.add(place)
                rate = effect_rate(effects[place], cue_effect)
                if rate is not None and rate > FLASH_LIMIT:
                    path = ("cue_lists", number, "cues", cue_number)
                    text = f"effect {say_place(place)} flashes {_per_second(rate)}"
                    yield warning("effect-flashes", path, text)
    for place in sorted(effects.keys() - started, key=place_order):
        rate = effect_rate(effects[place])
        if rate is not None and rate > FLASH_LIMIT:
            yield warning("effect-flashes", ("effects", place), f"flashes {_per_second(rate)}")


def _strobe_attributes(contents: Contents) -> Mapping[str, frozenset[str]]:
    """Return for each fixture and cell the attributes that can strobe."""
    able: dict[int, frozenset[str]] = {}
    found = {}
    for key, channels in contents.rig.channels.items():
        if id(channels) not in able:
            able[id(channels)] = frozenset(
                channel.attribute for channel in channels.values() if _can_strobe(channel)
            )
        if able[id(channels)]:
            found[key] = able[id(channels)]
    return found


def _can_strobe(channel: Channel) -> bool:
    words = [channel.attribute, *(function.name or "" for function in channel.functions or [])]
    units = [channel.unit or "", *(function.unit or "" for function in channel.functions or [])]
    return any("strobe" in word.lower() for word in words) or "Hz" in units


def _levels_of(
    contents: Contents, key: str, values: Mapping[str, Value], attributes: frozenset[str]
) -> dict[str, int]:
    """Return the levels, in millionths, that are stored for some attributes of a fixture."""
    levels = {}
    for attribute in values.keys() & attributes:
        level = _level_of(contents, key, attribute, values[attribute])
        if level is not None:
            levels[attribute] = level
    return dict(sorted(levels.items()))


def _level_of(contents: Contents, key: str, attribute: str, value: Value) -> int | None:
    if not isinstance(value, StoredValue):
        return millionths(value)
    if not isinstance(value.preset, UnsetType):
        preset = preset_named(contents.show, value.preset)
        return held_level(preset, key, contents.rig.type_of(key), attribute)
    return None if isinstance(value.level, UnsetType) else millionths(value.level)


def _say_strobes(strobes: Sequence[StrobeInUse]) -> str:
    fixtures = name_fixtures({strobe.fixture for strobe in strobes})
    rates = [strobe.rate for strobe in strobes if strobe.rate is not None]
    if not rates:
        return f"strobe in use on {fixtures}, at a rate that the fixture type does not tell"
    above = ", above three flashes a second" if max(rates) > FLASH_LIMIT else ""
    return f"strobe in use on {fixtures}, up to {_per_second(max(rates))}{above}"


def _per_second(rate: Fraction) -> str:
    return f"{float(round(rate, 2)):g} times a second"
