"""What a preset holds for a fixture.

Its own value, else one for its type, else one for all; a preset that holds nothing counts as not
stored (common practice, no source). A cell looks for its own number, then for its fixture's type.
"""

from msgspec import UnsetType

from showvault.look.levels import millionths
from showvault.show.model import Preset, Show


def preset_named(show: Show, name: str) -> Preset | None:
    """Return the preset that a reference such as "Color 1.3" names; None where there is none."""
    group, _, place = name.partition(" ")
    places = (show.presets or {}).get(group)  # type: ignore[call-overload]
    return places.get(place) if places else None


def held_level(preset: Preset | None, fixture: str, type_name: str, attribute: str) -> int | None:
    """Return the level, in millionths of a percent, that a preset holds; None where it holds none.

    ``type_name`` is the fixture's type; empty where the fixture is not in the patch.
    """
    if preset is None:
        return None
    for table, key in ((preset.levels, fixture), (preset.types, type_name)):
        if not isinstance(table, UnsetType):
            held = table.get(key)
            if held is not None and attribute in held:
                return millionths(held[attribute])
    if not isinstance(preset.all, UnsetType) and attribute in preset.all:
        return millionths(preset.all[attribute])
    return None
