"""Values of a show in trade words: levels in percent or in their unit, times in seconds.

A pair of values is never said in a way that reads as no change: more places are said instead.
"""

from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal
from typing import NamedTuple, TypeAlias

from msgspec import UNSET

from showvault.show.addressing import say_place
from showvault.show.trees import Tree


class Scale(NamedTuple):
    """The physical values at 0 and 100 percent of an attribute, and their unit."""

    low: Decimal
    high: Decimal
    unit: str


Scales: TypeAlias = Callable[[str, str], Scale | None]
"""Gives the scale of a fixture's (or cell's) attribute, where its type has one."""

PERCENT = Scale(Decimal(0), Decimal(100), "%")

_UNITS = {"%": " %", "deg": "°", "degree": "°", "degrees": "°"}


def no_scales(fixture: str, attribute: str) -> Scale | None:
    """Know no scale: every level is said in percent."""
    return None


def say_level_pair(before: Tree, after: Tree, scale: Scale | None = None) -> str:
    """Say two stored values, "50 → 65 %", in the unit of the scale where there is one."""
    if is_number(before) and is_number(after):
        for used in (scale or PERCENT, PERCENT):
            one, other = say_apart(_physical(before, used), _physical(after, used))
            if one != other:
                unit = say_unit(used.unit)
                return f"{one} → {other}{unit}" if unit != "°" else f"{one}° → {other}°"
    one, other = say_stored(before, scale), say_stored(after, scale)
    if one == other:
        other += " (written differently)"
    return f"{one} → {other}"


def say_stored(value: Tree, scale: Scale | None = None) -> str:
    """Say a stored value: "65 %", "Color preset page 1 slot 3", "released", each with its times."""
    if value is UNSET:
        return "not stored"
    if is_number(value):
        used = scale or PERCENT
        return f"{say_number(_physical(value, used), places=6)}{say_unit(used.unit)}"
    if not isinstance(value, dict):
        return say_plain(value)
    named = []
    if "level" in value:
        named.append(say_stored(value["level"], scale))
    if "preset" in value:
        named.append(say_preset(value["preset"]))
    if "release" in value:
        named.append("released")
    times = [f"{key} {say_seconds(value[key])}" for key in ("fade", "delay") if key in value]
    rest = [
        f"{key} {say_plain(value[key])}"
        for key in sorted(value)
        if key not in ("level", "preset", "release", "fade", "delay")
    ]
    said = " and ".join(named) or "nothing stored"
    return f"{said} ({', '.join([*times, *rest])})" if times or rest else said


def say_preset(name: Tree) -> str:
    """Say a preset's name: "Color 1.3" is "Color preset page 1 slot 3"."""
    group, _, place = str(name).partition(" ")
    return f"{group} preset {say_place(place)}"


def say_seconds(value: Tree) -> str:
    """Say a time in seconds: "2.5 s"."""
    return f"{say_number(value)} s" if is_number(value) else say_plain(value)


def say_number(value: Tree, places: int = 28) -> str:
    """Say a number in its shortest form, rounded to at most so many places."""
    number = value if isinstance(value, Decimal) else Decimal(value)
    if not number.is_finite() or abs(number.adjusted()) > 20:
        return str(value)
    _, _, exponent = number.as_tuple()
    if isinstance(exponent, int) and -exponent > places:
        number = number.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    text = f"{number:f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text.replace("-", "−")


def say_apart(before: Tree, after: Tree, places: int = 2) -> tuple[str, str]:
    """Say two numbers with as few places as tell them apart, two at least where they have them."""
    for used in range(places, 28):
        one, other = say_number(before, used), say_number(after, used)
        if one != other:
            return one, other
    return say_number(before), say_number(after)


def say_plain(value: Tree) -> str:
    """Say any value: text in quotation marks, yes or no, lists with commas."""
    match value:
        case bool():
            return "yes" if value else "no"
        case int() | Decimal():
            return say_number(value)
        case str():
            return f"“{value}”"
        case list():
            return ", ".join(say_plain(item) for item in value) or "none"
        case dict():
            inner = (f"{key} {say_plain(value[key])}" for key in value)
            return "(" + ", ".join(inner) + ")"
        case None:
            return "null"
        case _ if value is UNSET:
            return "none"
        case _:
            return str(value)


def say_unit(unit: str) -> str:
    """Say a unit as it follows a number: " %", "°", " Hz"."""
    return _UNITS.get(unit, f" {unit}" if unit else "")


def is_number(value: Tree) -> bool:
    """Tell whether a value is a number, which true and false are not."""
    return isinstance(value, int | Decimal) and not isinstance(value, bool)


def _physical(level: Tree, scale: Scale) -> Decimal:
    return scale.low + (scale.high - scale.low) * Decimal(level) / 100
