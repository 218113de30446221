"""A rig laid into a show: the rig says what hangs where, the show keeps the rest.

- A fixture is the same where the uuid of the rig is the same (MVR, File Format Definition: a uuid
  stays through every export), else where the number is.
- What cues call a fixture stays: the show's number is kept where rig and show disagree.
- What the rig does not say (colour, notes …) is kept, and so is every fixture it does not have.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from showvault.show.addressing import place_order
from showvault.show.trees import Tree

_HIGHEST_NUMBER = 999_999_999


@dataclass(frozen=True)
class Laid:
    """A show with a rig laid into it; fixtures by their number in the show."""

    show: Tree
    matched: tuple[str, ...]
    added: tuple[str, ...]
    not_in_rig: tuple[str, ...]


def lay_rig_into(show: Tree, rig: Tree) -> Laid:
    """Return the show with the patch and fixture types of the rig; neither is changed itself."""
    patch: dict[str, Tree] = dict(show.get("patch", {}))
    rig_patch: Mapping[str, Tree] = rig.get("patch", {})
    homes = _homes(patch, rig_patch)
    added = []
    for key in sorted(rig_patch, key=place_order):
        home = homes.get(key)
        if home is None:
            home = key if key not in patch else _next_free(patch)
            added.append(home)
        patch[home] = _laid_fixture(patch.get(home, {}), rig_patch[key])
    types = {**show.get("fixture_types", {})}
    for name, kind in rig.get("fixture_types", {}).items():
        types[name] = _laid_type(types.get(name, {}), kind)
    laid = {**show, "patch": patch} | ({"fixture_types": types} if types else {})
    matched = set(homes.values())
    left = [key for key in show.get("patch", {}) if key not in matched]
    return Laid(
        laid,
        tuple(sorted(matched, key=place_order)),
        tuple(added),
        tuple(sorted(left, key=place_order)),
    )


def _homes(patch: Mapping[str, Tree], rig_patch: Mapping[str, Tree]) -> dict[str, str]:
    """Return which fixture of the show each fixture of the rig is."""
    by_uuid = {uuid: key for key in patch if (uuid := _uuid_of(patch[key]))}
    homes = {
        key: by_uuid[uuid]
        for key, fixture in rig_patch.items()
        if (uuid := _uuid_of(fixture)) in by_uuid
    }
    taken = set(homes.values())
    for key in rig_patch:
        if key not in homes and key in patch and key not in taken:
            homes[key] = key
            taken.add(key)
    return homes


def _laid_fixture(old: Mapping[str, Tree], new: Mapping[str, Tree]) -> dict[str, Tree]:
    laid = {**old, **new}
    if "addresses" not in new:  # the rig says that it is not patched
        laid.pop("addresses", None)
    elif "addresses" in old:
        laid["addresses"] = [_with_curve(address, old["addresses"]) for address in new["addresses"]]
    both = [extra for extra in (old.get("extra"), new.get("extra")) if isinstance(extra, dict)]
    if both:
        laid["extra"] = {name: held for extra in both for name, held in extra.items()}
    return laid


def _with_curve(address: Mapping[str, Tree], old: list[Tree]) -> Tree:
    """Keep scale and curve of an address that stays where it was: a rig knows neither."""
    place = ("universe", "address", "break")
    for before in old:
        if all(before.get(name) == address.get(name) for name in place):
            return {**before, **address}
    return address


def _laid_type(old: Mapping[str, Tree], new: Mapping[str, Tree]) -> dict[str, Tree]:
    modes = {**old.get("modes", {}), **new.get("modes", {})}
    hazards = list(dict.fromkeys([*old.get("hazards", []), *new.get("hazards", [])]))
    laid = {**old, **new}
    if modes:
        laid["modes"] = modes
    if hazards:
        laid["hazards"] = hazards
    return laid


def _uuid_of(fixture: Mapping[str, Tree]) -> str | None:
    extra = fixture.get("extra")
    held = extra.get("mvr") if isinstance(extra, dict) else None
    uuid = held.get("uuid") if isinstance(held, dict) else None
    return uuid if isinstance(uuid, str) else None


def _next_free(patch: Mapping[str, Tree]) -> str:
    highest = max(int(key) for key in patch)
    if highest < _HIGHEST_NUMBER:
        return str(highest + 1)
    return next(str(number) for number in range(1, _HIGHEST_NUMBER) if str(number) not in patch)
