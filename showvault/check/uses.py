"""Whether the fixtures that a show uses are there, are patched, and can do what is stored.

Rules: ``missing-fixture`` (error), ``missing-cell`` (error), ``not-patched`` (warning, once a
fixture), ``lacks-attribute`` (error where a value is stored, else a warning).

Common practice, no source.
"""

from collections.abc import Collection, Iterator

from showvault.check.contents import Contents
from showvault.check.finding import Finding, Path, error, warning
from showvault.show.addressing import place_order, say_fixture, say_thing
from showvault.show.attributes import say_attribute
from showvault.show.places import split_path


def find_missing_fixtures(contents: Contents) -> Iterator[Finding]:
    """Tell where a cue, part, preset, group, effect or submaster uses what is not in the patch."""
    for path, keys in _uses(contents):
        for key in keys:
            number, _, cell = key.partition(".")
            if not contents.has_fixture(number):
                where = (*path, key) if path[-1] == "levels" else path
                yield error("missing-fixture", where, f"fixture {number} is not in the patch")
            elif cell and key not in contents.rig.channels and contents.modes.get(number):
                where = (*path, key) if path[-1] == "levels" else path
                yield error("missing-cell", where, f"fixture {number} has no cell {cell}")


def find_unpatched_fixtures(contents: Contents) -> Iterator[Finding]:
    """Tell which fixtures are used and have no start address; one finding a fixture.

    A fixture whose channels all have no slots needs none (a virtual intensity).
    """
    patch = contents.show.patch or {}
    unpatched = {
        number
        for number, fixture in patch.items()
        if not fixture.addresses and _needs_an_address(contents, number)
    }
    used: dict[str, list[str]] = {}
    for path, keys in _uses(contents) if unpatched else ():
        thing, _ = split_path(path)
        place = "the show" if thing is None else say_thing(thing)
        for number in dict.fromkeys(key.partition(".")[0] for key in keys):
            if number in unpatched:
                places = used.setdefault(number, [])
                if place not in places[-1:]:
                    places.append(place)
    for number in sorted(used, key=place_order):
        first, *others = used[number]
        more = f" and {len(others)} more places" if len(others) > 1 else ""
        more = " and one more place" if len(others) == 1 else more
        yield warning("not-patched", ("patch", number), f"not patched, and used in {first}{more}")


def find_lacking_attributes(contents: Contents) -> Iterator[Finding]:
    """Tell where something is stored for an attribute that the fixture's mode does not have."""
    known = contents.attributes
    for path, levels in contents.stored_levels():
        for key, values in levels.items():
            has = known.get(key)
            if has is not None and not values.keys() <= has:
                yield from _lacking(contents, (*path, key), key, values.keys() - has)
    for group, places in sorted((contents.show.presets or {}).items()):
        for place in sorted(places, key=place_order):
            for key, plain in (places[place].levels or {}).items():
                has = known.get(key)
                if has is not None and not plain.keys() <= has:
                    path = ("presets", group, place, "levels", key)
                    yield from _lacking(contents, path, key, plain.keys() - has)
    patch = contents.show.patch or {}
    for number in sorted(patch, key=place_order):
        has = _attributes_of_all_cells(contents, number)
        for index, attribute in enumerate(patch[number].invert or []):
            if has and attribute not in has:
                yield warning(
                    "lacks-attribute",
                    ("patch", number, "invert", str(index)),
                    f"{say_attribute(attribute)} is inverted, but the mode has none",
                )


def find_effects_without_an_attribute(contents: Contents) -> Iterator[Finding]:
    """Tell which effects move an attribute that none of their fixtures has."""
    effects = contents.show.effects or {}
    for place in sorted(effects, key=place_order):
        fixtures = [str(fixture) for fixture in effects[place].fixtures or []]
        known = [contents.attributes[key] for key in fixtures if key in contents.attributes]
        if not known or len(known) < len(fixtures):
            continue
        for attribute in sorted(effects[place].attributes or {}):
            if not any(attribute in has for has in known):
                yield warning(
                    "lacks-attribute",
                    ("effects", place, "attributes", attribute),
                    f"none of its fixtures has {say_attribute(attribute)}",
                )


def _lacking(
    contents: Contents, path: Path, key: str, attributes: Collection[str]
) -> Iterator[Finding]:
    fixture = (contents.show.patch or {})[key.partition(".")[0]]
    in_cells = _attributes_of_all_cells(contents, key.partition(".")[0])
    for attribute in sorted(attributes):
        elsewhere = "; another cell of it has" if attribute in in_cells else ""
        yield error(
            "lacks-attribute",
            (*path, attribute),
            f"fixture {say_fixture(key)} has no {say_attribute(attribute)} in mode "
            f'"{fixture.mode}" of type "{fixture.type}"{elsewhere}',
        )


def _attributes_of_all_cells(contents: Contents, number: str) -> frozenset[str]:
    mode = contents.modes.get(number)
    if mode is None:
        return frozenset()
    keys = [number, *(f"{number}.{cell}" for cell in mode.cells or {})]
    return frozenset().union(*(contents.attributes.get(key, ()) for key in keys))


def _needs_an_address(contents: Contents, number: str) -> bool:
    mode = contents.modes.get(number)
    if mode is None:
        return True
    channels = [*(mode.channels or [])]
    for cell in (mode.cells or {}).values():
        channels += cell.channels or []
    return any(channel.slots for channel in channels)


def _uses(contents: Contents) -> Iterator[tuple[Path, list[str]]]:
    """Yield every place that uses fixtures, with the fixtures and cells it uses."""
    show = contents.show
    for path, levels in contents.stored_levels():
        yield path, list(levels)
    for group, presets in sorted((show.presets or {}).items()):
        for place in sorted(presets, key=place_order):
            yield ("presets", group, place, "levels"), list(presets[place].levels or {})
    for place in sorted(show.groups or {}, key=place_order):
        members = (show.groups or {})[place].fixtures or []
        yield from _listed(("groups", place, "fixtures"), members)
    for place in sorted(show.effects or {}, key=place_order):
        members = (show.effects or {})[place].fixtures or []
        yield from _listed(("effects", place, "fixtures"), members)


def _listed(path: Path, members: list[int | str]) -> Iterator[tuple[Path, list[str]]]:
    for index, member in enumerate(members):
        yield (*path, str(index)), [str(member)]
