"""Looks, times and slots the slow way: dictionaries and exact decimals, straight from the rules.

It shares no line with showvault.look: what the rules of the trade say about a cue, one by one.
"""

from decimal import ROUND_HALF_UP, Decimal
from typing import Any

Tree = Any
Looks = dict[str, dict[tuple[str, str], Decimal]]


def _cue_number(key: str) -> Decimal:
    return Decimal(key)


def channels_of(show: Tree, number: str) -> dict[str, list[Tree]]:
    """The channels of a fixture and of its cells, by "101" and "101.2"."""
    fixture = show["patch"][number]
    mode = show["fixture_types"].get(fixture["type"], {}).get("modes", {}).get(fixture["mode"], {})
    found = {number: mode.get("channels", [])}
    for cell, of_cell in mode.get("cells", {}).items():
        found[f"{number}.{cell}"] = of_cell.get("channels", [])
    return found


def defaults_of(show: Tree) -> dict[tuple[str, str], Decimal]:
    """Every parameter of every fixture and cell in the patch, at its default."""
    defaults: dict[tuple[str, str], Decimal] = {}
    for number in show["patch"]:
        for key, channels in channels_of(show, number).items():
            for channel in channels:
                parameter = (key, channel["attribute"])
                defaults.setdefault(parameter, Decimal(channel.get("default", 0)))
    return defaults


def preset_level(show: Tree, reference: str, key: str, attribute: str) -> Decimal | None:
    """A preset's own value for the fixture, else its type's, else one for all."""
    group, place = reference.split(" ")
    preset = show["presets"].get(group, {}).get(place, {})
    own = preset.get("levels", {}).get(key, {})
    if attribute in own:
        return Decimal(own[attribute])
    fixture = show["patch"].get(key.split(".")[0])
    of_type = preset.get("types", {}).get(fixture["type"], {}) if fixture else {}
    if attribute in of_type:
        return Decimal(of_type[attribute])
    of_all = preset.get("all", {})
    return Decimal(of_all[attribute]) if attribute in of_all else None


def slow_looks(show: Tree, list_number: str) -> Looks:
    """The look of every cue of a list: parameters and percents."""
    cue_list = show["cue_lists"][list_number]
    defaults = defaults_of(show)
    stage = dict(defaults)
    looks = {}
    for number in sorted(cue_list["cues"], key=_cue_number):
        cue = cue_list["cues"][number]
        if not cue_list.get("tracking", True):
            for parameter in stage:
                if parameter[1] == "Dimmer":
                    stage[parameter] = Decimal(0)
        for part in [
            cue,
            *(cue.get("parts", {})[n] for n in sorted(cue.get("parts", {}), key=int)),
        ]:
            for key, values in part.get("levels", {}).items():
                for attribute, value in values.items():
                    _store(show, stage, defaults, (key, attribute), value)
        looks[number] = dict(stage)
    return looks


def _store(
    show: Tree,
    stage: dict[tuple[str, str], Decimal],
    defaults: dict[tuple[str, str], Decimal],
    parameter: tuple[str, str],
    value: Tree,
) -> None:
    if not isinstance(value, dict):
        stage[parameter] = Decimal(value)
    elif "level" in value:
        stage[parameter] = Decimal(value["level"])
    elif "preset" in value:
        held = preset_level(show, value["preset"], *parameter)
        if held is not None:
            stage[parameter] = held
    elif value.get("release"):
        stage.pop(parameter, None)
        if parameter in defaults:
            stage[parameter] = defaults[parameter]


def slow_time(
    cue: Tree, part: Tree, value: Tree, attribute: str, group: str, falls: bool, what: str
) -> Decimal:
    """The fade or delay of a stored value, in seconds; ``what`` is "fade" or "delay"."""
    places = [part] if part is cue else [part, cue]
    if isinstance(value, dict) and what in value:
        return Decimal(value[what])
    for place in places:
        of_class = place.get("times", {}).get(group, {})
        if what in of_class:
            return Decimal(of_class[what])
        if falls and f"{what}_out" in place:
            return Decimal(place[f"{what}_out"])
        if f"{what}_in" in place:
            return Decimal(place[f"{what}_in"])
    return Decimal(0)


def slow_slots(level: Decimal, count: int) -> list[int]:
    """What a channel sends: round(level × (256^n − 1) / 100), halves up, coarse byte first."""
    value = (level * (256**count - 1) / 100).quantize(Decimal(1), ROUND_HALF_UP)
    return list(int(value).to_bytes(count, "big"))
