"""The intensity of each fixture in each cue: all that an intensity-only format can hold.

Preset references become the levels they stand for; a tracking list becomes the pictures its cues
make, with intensities alone. What is not intensity is counted, not carried.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from showvault.interchange.loss_book import LossBook
from showvault.show.addressing import place_order
from showvault.show.trees import Tree

INTENSITY = "Dimmer"
Percent = int | Decimal


@dataclass(frozen=True)
class IntensityPart:
    """The intensities of one part, by fixture number."""

    number: str
    """"1" is the cue itself."""
    levels: dict[str, Percent] = field(default_factory=dict)


@dataclass(frozen=True)
class IntensityResolver:
    """Finds intensities in stored values, and enters into the book whatever else they hold."""

    show: Tree
    book: LossBook

    def stored_in(self, levels: Mapping[str, Tree], where: str) -> dict[str, Percent | None]:
        """Return the intensities that are stored, by fixture; None where one is released."""
        found: dict[str, Percent | None] = {}
        for fixture, attributes in levels.items():
            for attribute, value in attributes.items():
                if attribute.casefold() != INTENSITY.casefold():
                    self.book.add(f"{attribute} levels", f"{where} fixture {fixture}")
                elif "." in fixture:
                    self.book.add("intensities of single cells", f"{where} fixture {fixture}")
                else:
                    self._take(found, fixture, value, where)
        return found

    def _take(
        self, found: dict[str, Percent | None], fixture: str, value: Tree, where: str
    ) -> None:
        place = f"{where} fixture {fixture}"
        if not isinstance(value, dict):
            found[fixture] = value
            return
        if "fade" in value or "delay" in value:
            self.book.add("times of single levels", place)
        if "extra" in value:
            self.book.add("extra of single levels", place)
        if "level" in value:
            found[fixture] = value["level"]
        elif "preset" in value:
            level = self.preset_level(str(value["preset"]), fixture)
            if level is None:
                self.book.add("references to presets that hold no intensity", place)
            else:
                self.book.add("references to presets, written as the levels they stand for", place)
                found[fixture] = level
        elif value.get("release"):
            found[fixture] = None

    def preset_level(self, reference: str, fixture: str) -> Percent | None:
        """Return what a preset holds for a fixture: its own value, its type's, or one for all."""
        group, _, place = reference.partition(" ")
        preset = self.show.get("presets", {}).get(group, {}).get(place, {})
        kind = self.show.get("patch", {}).get(fixture, {}).get("type")
        for values in (
            preset.get("levels", {}).get(fixture, {}),
            preset.get("types", {}).get(kind, {}),
            preset.get("all", {}),
        ):
            for attribute, level in values.items():
                if attribute.casefold() == INTENSITY.casefold():
                    return self._plain(level)
        return None

    def default_of(self, fixture: str) -> Percent:
        """Return the intensity a fixture has when nothing is stored."""
        channel = intensity_channel(self.show, fixture)
        return self._plain(channel.get("default", 0)) if channel else 0

    def lit_by_default(self) -> dict[str, Percent]:
        """Return the intensities that are up before any cue, by fixture."""
        found = {key: self.default_of(key) for key in self.show.get("patch", {})}
        return {key: level for key, level in found.items() if level}

    @staticmethod
    def _plain(level: Tree) -> Percent:
        return level if isinstance(level, int | Decimal) else Decimal(str(level))


def intensity_channel(show: Tree, fixture: str) -> dict[str, Tree] | None:
    """Return the channel of a fixture's mode that is its intensity, if it has one."""
    patched = show.get("patch", {}).get(fixture, {})
    kind = show.get("fixture_types", {}).get(patched.get("type"), {})
    mode = kind.get("modes", {}).get(patched.get("mode"), {})
    for channel in mode.get("channels", []):
        if channel["attribute"].casefold() == INTENSITY.casefold():
            found: dict[str, Tree] = channel
            return found
    return None


def parts_of(cue: Mapping[str, Tree]) -> Iterator[tuple[str, Mapping[str, Tree]]]:
    """Yield the parts of a cue by number, the cue itself as part 1."""
    yield "1", cue
    for number in sorted(cue.get("parts", {}), key=place_order):
        yield number, cue["parts"][number]


def stored_parts(
    cue: Mapping[str, Tree], resolver: IntensityResolver, where: str
) -> list[IntensityPart]:
    """Return the intensities that a cue stores, part by part; a release cannot be told."""
    return [
        IntensityPart(number, without_releases(found, where, resolver.book))
        for number, found in _parts_found(cue, resolver, where)
    ]


def without_releases(
    found: Mapping[str, Percent | None], where: str, book: LossBook
) -> dict[str, Percent]:
    """Return the intensities that are stored; those that are released are entered as lost."""
    stored = {key: level for key, level in found.items() if level is not None}
    book.add("releases", where, len(found) - len(stored))
    return stored


def pictured_parts(
    cues: Iterable[tuple[str, Mapping[str, Tree]]], resolver: IntensityResolver, list_words: str
) -> Iterator[list[IntensityPart]]:
    """Yield for each cue of a tracking list, in order, its whole picture of intensities.

    What tracked in stands in part 1; a channel at 0 is listed where the cue itself stores it.
    """
    lit = resolver.lit_by_default()
    for number, cue in cues:
        parts = []
        for part, found in _parts_found(cue, resolver, f"{list_words} cue {number}"):
            stored = {
                fixture: resolver.default_of(fixture) if level is None else level
                for fixture, level in found.items()
            }
            lit.update(stored)
            parts.append(IntensityPart(part, stored))
        for fixture in [fixture for fixture, level in lit.items() if level == 0]:
            del lit[fixture]
        named = {fixture for part in parts for fixture in part.levels}
        tracked = {fixture: level for fixture, level in lit.items() if fixture not in named}
        parts[0] = IntensityPart("1", {**parts[0].levels, **tracked})
        yield parts


def _parts_found(
    cue: Mapping[str, Tree], resolver: IntensityResolver, where: str
) -> Iterator[tuple[str, dict[str, Percent | None]]]:
    for number, part in parts_of(cue):
        words = where if number == "1" else f"{where} part {number}"
        yield number, resolver.stored_in(part.get("levels", {}), words)
