"""Whether what a show refers to is there.

A show in progress may have links that dangle: that stops no snapshot, and is told here. Common
practice, no source.
"""

from collections.abc import Iterator
from functools import cache

from msgspec import UnsetType

from showvault.check.contents import Contents
from showvault.check.finding import Finding, Path, error, name_fixtures, warning
from showvault.look.presets import held_level, preset_named
from showvault.show.addressing import Thing, place_order, say_thing
from showvault.show.attributes import say_attribute
from showvault.show.model import Link, StoredValue


def find_missing_types(contents: Contents) -> Iterator[Finding]:
    """``missing-type``, ``missing-mode``, ``missing-curve``: what the patch or a preset needs."""
    for group, presets in sorted((contents.show.presets or {}).items()):
        for place in sorted(presets, key=place_order):
            for name in sorted(presets[place].types or {}):
                if not contents.has(Thing("fixture_type", name)):
                    path: Path = ("presets", group, place, "types", name)
                    yield error("missing-type", path, f'the show has no fixture type "{name}"')
    yield from _missing_in_the_patch(contents)


def _missing_in_the_patch(contents: Contents) -> Iterator[Finding]:
    patch, types = contents.show.patch or {}, contents.show.fixture_types or {}
    for number in sorted(patch, key=place_order):
        fixture, path = patch[number], ("patch", number)
        if not contents.has(Thing("fixture_type", fixture.type)):
            text = f'the show has no fixture type "{fixture.type}"'
            yield error("missing-type", (*path, "type"), text)
        elif fixture.type in types and fixture.mode not in (types[fixture.type].modes or {}):
            text = f'type "{fixture.type}" has no mode "{fixture.mode}"'
            yield error("missing-mode", (*path, "mode"), text)
        for index, address in enumerate(fixture.addresses or []):
            curve = address.curve
            if not isinstance(curve, UnsetType) and not contents.has(Thing("curve", curve)):
                text = f"the show has no curve {curve}"
                yield error("missing-curve", (*path, "addresses", str(index), "curve"), text)


def find_missing_presets(contents: Contents) -> Iterator[Finding]:
    """``missing-preset``, ``preset-holds-nothing``: a value refers to what gives it no level."""
    show, type_of = contents.show, contents.rig.type_of

    @cache
    def holds(preset: str, key: str, attribute: str) -> bool:
        held = preset_named(show, preset)
        if held is None or not type_of(key):  # what is not understood may hold anything
            return True
        return held_level(held, key, type_of(key), attribute) is not None

    for path, levels in contents.stored_levels():
        for key, values in levels.items():
            for attribute, value in values.items():
                if not isinstance(value, StoredValue) or isinstance(value.preset, UnsetType):
                    continue
                where, thing = (*path, key, attribute), Thing("preset", value.preset)
                if not contents.has(thing):
                    yield error("missing-preset", where, f"there is no {say_thing(thing)}")
                elif not holds(value.preset, key, attribute):
                    held = f"no {say_attribute(attribute)} for {name_fixtures([key])}"
                    text = f"{say_thing(thing)} holds {held}"
                    yield error("preset-holds-nothing", where, text)


def find_missing_effects(contents: Contents) -> Iterator[Finding]:
    """``missing-effect``: a cue starts, stops or releases an effect that is not there."""
    for number, cue_number, cue in contents.cues():
        path: Path = ("cue_lists", number, "cues", cue_number)
        holders = {path: cue} | {
            (*path, "parts", part): (cue.parts or {})[part]
            for part in sorted(cue.parts or {}, key=place_order)
        }
        for where, holder in holders.items():
            for effect in sorted(holder.effects or {}, key=place_order):
                thing = Thing("effect", effect)
                if not contents.has(thing):
                    text = f"there is no {say_thing(thing)}"
                    yield error("missing-effect", (*where, "effects", effect), text)


def find_missing_cues(contents: Contents) -> Iterator[Finding]:
    """``missing-cue``, ``missing-list``, ``empty-link``: where cues and playbacks lead."""
    for number, cue_number, cue in contents.cues():
        path = ("cue_lists", number, "cues", cue_number)
        if not isinstance(cue.link, UnsetType):
            yield from _link(contents, (*path, "link"), cue.link, number)
        for index, link in enumerate(cue.also_go or []):
            yield from _link(contents, (*path, "also_go", str(index)), link, number)
    playbacks = contents.show.playbacks or {}
    for place in sorted(playbacks, key=place_order):
        target = playbacks[place].cue_list
        if not isinstance(target, UnsetType) and not contents.has(Thing("cue_list", target)):
            text = f"there is no list {target}"
            yield error("missing-list", ("playbacks", place, "cue_list"), text)


def _link(contents: Contents, path: Path, link: Link, own: str) -> Iterator[Finding]:
    target = own if isinstance(link.list, UnsetType) else link.list
    if not contents.has(Thing("cue_list", target)):
        yield error("missing-list", path, f"there is no list {target} to go to")
    elif isinstance(link.cue, UnsetType):
        if isinstance(link.list, UnsetType):
            yield warning("empty-link", path, "it names neither a list nor a cue")
    elif not contents.has(Thing("cue", link.cue, target)):
        yield error("missing-cue", path, f"there is no cue {link.cue} in list {target} to go to")
