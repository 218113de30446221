"""What of a show the rules look at: all of it, or as much as is understood.

A thing that is not understood is left out and remembered: it is there, so a reference to it leads
somewhere, but what it holds is not judged.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypeVar

import msgspec
from msgspec.structs import replace

from showvault.look.fixtures import Rig, mode_of, rig_of
from showvault.show.addressing import Kind, Thing, cue_order, place_order
from showvault.show.cutting import CutShow, skeleton_as_json
from showvault.show.model import Capacity, Cue, CueList, Levels, Mode, Show
from showvault.show.outlines import SECTIONS
from showvault.show.trees import parse_part
from showvault.show.understanding import MODELS

T = TypeVar("T")
_SECTION_OF: Mapping[Kind, str] = {kind: section for section, kind in SECTIONS.items()}


@dataclass(frozen=True)
class Contents:
    """A show, and the things in it that were not understood."""

    show: Show
    unread: frozenset[Thing] = frozenset()

    @cached_property
    def rig(self) -> Rig:
        """The fixtures and their parameters."""
        return rig_of(self.show)

    @cached_property
    def modes(self) -> Mapping[str, Mode | None]:
        """The mode of each fixture; None where there is none, or none that is understood."""
        return {
            number: mode_of(self.show, fixture.type, fixture.mode)
            for number, fixture in (self.show.patch or {}).items()
        }

    @cached_property
    def attributes(self) -> Mapping[str, frozenset[str]]:
        """The attributes of each fixture and cell whose mode is known."""
        return {
            key: frozenset(channels)
            for key, channels in self.rig.channels.items()
            if self.modes.get(key.partition(".")[0]) is not None
        }

    def has(self, thing: Thing) -> bool:
        """Tell whether a thing is in the show, understood or not."""
        return thing in self._things or thing in self.unread

    def has_fixture(self, number: str) -> bool:
        """Tell whether a fixture number is in the patch, understood or not."""
        return number in (self.show.patch or {}) or Thing("fixture", number) in self.unread

    @cached_property
    def _things(self) -> frozenset[Thing]:
        found: set[Thing] = set()
        for section, kind in SECTIONS.items():
            found.update(Thing(kind, key) for key in getattr(self.show, section) or {})
        for group, presets in (self.show.presets or {}).items():
            found.update(Thing("preset", f"{group} {place}") for place in presets)
        for number, cue_list in (self.show.cue_lists or {}).items():
            found.add(Thing("cue_list", number))
            found.update(Thing("cue", cue, number) for cue in cue_list.cues or {})
        return frozenset(found)

    def cues(self) -> Iterator[tuple[str, str, Cue]]:
        """Yield every cue with its list and number, in the order of the numbers."""
        lists = self.show.cue_lists or {}
        for number in sorted(lists, key=place_order):
            cues = lists[number].cues or {}
            for cue in sorted(cues, key=cue_order):
                yield number, cue, cues[cue]

    def stored_levels(self) -> Iterator[tuple[tuple[str, ...], Levels]]:
        """Yield every map of stored values with its path: of cues, parts and submasters."""
        for number, cue_number, cue in self.cues():
            path = ("cue_lists", number, "cues", cue_number)
            if cue.levels:
                yield (*path, "levels"), cue.levels
            for part in sorted(cue.parts or {}, key=place_order):
                levels = (cue.parts or {})[part].levels
                if levels:
                    yield (*path, "parts", part, "levels"), levels
        submasters = self.show.submasters or {}
        for place in sorted(submasters, key=place_order):
            levels = submasters[place].levels
            if levels:
                yield ("submasters", place, "levels"), levels


def contents_as_far_as_understood(cut: CutShow) -> Contents:
    """Return what decodes of a cut show, thing by thing, and what does not."""
    read: dict[Thing, Any] = {}
    unread: set[Thing] = set()
    for thing, name in cut.names.items():
        try:
            read[thing] = msgspec.json.decode(cut.parts[name], type=MODELS[thing.kind])
        except (msgspec.DecodeError, UnicodeDecodeError, RecursionError):
            unread.add(thing)
    return Contents(_show_of(read, cut), frozenset(unread))


def _show_of(read: Mapping[Thing, Any], cut: CutShow) -> Show:
    outline = parse_part(skeleton_as_json(cut.skeleton))
    sections: dict[str, dict[str, Any]] = {section: {} for section in SECTIONS}
    presets: dict[Any, dict[str, Any]] = {}
    cues: dict[str, dict[str, Cue]] = {}
    for thing, value in read.items():
        match thing.kind:
            case "cue":
                cues.setdefault(thing.list, {})[thing.id] = value
            case "preset":
                group, _, place = thing.id.partition(" ")
                presets.setdefault(group, {})[place] = value
            case kind:
                sections[_SECTION_OF[kind]][thing.id] = value
    show = Show(
        format="neutral-show",
        format_version=1,
        capacity=_as_far_as(_member(outline, "capacity"), Capacity),
        presets=presets,
        cue_lists={
            number: replace(_list_without_cues(value), cues=cues.get(number, {}))
            for number, value in _member(outline, "cue_lists").items()
        },
    )
    return replace(show, **sections)


def _list_without_cues(value: Any) -> CueList:
    fields = {name: field for name, field in _object(value).items() if name != "cues"}
    return _as_far_as(fields, CueList)


def _as_far_as(fields: Mapping[str, Any], model: type[T]) -> T:
    """Return an object with the fields that are understood; the others stay unset."""
    kept = {}
    for name, value in fields.items():
        try:
            msgspec.convert({name: value}, model)
        except msgspec.ValidationError:
            continue
        kept[name] = value
    return msgspec.convert(kept, model)


def _member(outline: Any, name: str) -> Mapping[str, Any]:
    return _object(_object(outline).get(name))


def _object(value: Any) -> Mapping[str, Any]:
    return value if isinstance(value, dict) else {}
