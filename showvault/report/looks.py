"""What a cue puts on stage, as a table of fixtures."""

from collections.abc import Mapping
from decimal import Decimal

from showvault.report.terminal import clip, safe
from showvault.review.values import say_number
from showvault.show.addressing import place_order, say_fixture
from showvault.show.attributes import FEATURE_GROUPS, feature_group, say_attribute

SLOTS_A_LINE = 16


def look_text(levels: Mapping[str, Mapping[str, float]], headline: str, width: int) -> str:
    """Return a line for each fixture and cell, attributes in the order of their feature groups."""
    lines = [safe(headline)]
    for key in sorted(levels, key=place_order):
        said = ", ".join(
            f"{safe(say_attribute(attribute))} {say_number(Decimal(repr(levels[key][attribute])))}"
            for attribute in sorted(levels[key], key=_by_feature)
        )
        lines.append(clip(f"  {safe(say_fixture(key)):<14} {said}", width))
    lines.append("levels in percent; other playbacks are not looked at")
    return "\n".join(lines)


def _by_feature(attribute: str) -> tuple[int, str]:
    return (FEATURE_GROUPS.index(feature_group(attribute)), attribute)


def slots_text(universes: Mapping[int, bytes]) -> str:
    """Return the slots of each universe that are not at zero, sixteen to a line, by address."""
    lines = []
    for universe in sorted(universes):
        lines.append(f"universe {universe}")
        slots = universes[universe]
        for start in range(0, len(slots), SLOTS_A_LINE):
            row = slots[start : start + SLOTS_A_LINE]
            if any(row):
                lines.append(f"  {start + 1:>3}  " + " ".join(f"{slot:>3}" for slot in row))
    return "\n".join(lines)
