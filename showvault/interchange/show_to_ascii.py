"""A neutral show as ASCII cue data: what the format can hold, and a count of what it cannot."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from showvault.interchange.ascii_rules import IDENT, WHOLE_NUMBER
from showvault.interchange.ascii_texts import (
    keep_item_lines,
    keep_top_lines,
    label_that_fits,
    name_that_fits,
    settings_that_fit,
)
from showvault.interchange.ascii_timing import written_follow, written_link, written_time
from showvault.interchange.ascii_to_show import DIMMER, DIMMER_MODE, DIMMER_TYPE, CuesAs
from showvault.interchange.ascii_values import (
    AsciiData,
    AsciiItem,
    AsciiPart,
    AsciiPatch,
    AsciiTime,
)
from showvault.interchange.aside import Aside, count_sections
from showvault.interchange.intensities import (
    IntensityPart,
    IntensityResolver,
    Percent,
    intensity_channel,
    parts_of,
    pictured_parts,
    stored_parts,
    without_releases,
)
from showvault.interchange.loss_book import LossBook
from showvault.show.addressing import cue_order, place_order
from showvault.show.trees import Tree, same_tree

_CARRIED = {
    *("format", "format_version", "fixture_types", "patch", "groups", "submasters", "cue_lists"),
    "extra",
}
_LONGEST_TIME = 1_000_000
_KEPT_ASIDE = {"manufacturer", "console", "set", "verbatim"}
_TIMES = ("fade_in", "fade_out", "delay_in", "delay_out")
_PART_FIELDS = {"label", "levels", *_TIMES}
_CUE_FIELDS = _PART_FIELDS | {"follow", "link", "parts", "extra"}


def ascii_from_show(show: Tree, cues_as: CuesAs, book: LossBook) -> AsciiData:
    """Return the values of a file, levels as decimal percents (see level_notation)."""
    return _Writing(show, cues_as, book).all()


@dataclass
class _Writing:
    show: Tree
    cues_as: CuesAs
    book: LossBook
    resolver: IntensityResolver = field(init=False)
    aside: Aside = field(init=False)
    channels: set[str] = field(default_factory=set)
    """Channels that have a level somewhere."""

    def __post_init__(self) -> None:
        self.resolver = IntensityResolver(self.show, self.book)
        self.aside = Aside("ascii", self.book)

    def all(self) -> AsciiData:
        cues = [item for key in self.in_order("cue_lists") for item in self.cue_list(key)]
        groups = [self.group(key) for key in self.in_order("groups") if self.is_place(key, "group")]
        subs = [
            self.submaster(key)
            for key in self.in_order("submasters")
            if self.is_place(key, "submaster")
        ]
        patch = [entry for key in self.in_order("patch") for entry in self.fixture(key)]
        self.count_types(bool(self.show.get("patch") or self.channels))
        count_sections(self.show, _CARRIED, self.book)
        aside = self.aside.take(
            self.show, "the show", {"manufacturer", "console", "set", "verbatim"}
        )
        return AsciiData(
            ident=IDENT,
            manufacturer=name_that_fits(aside.get("manufacturer"), "MANUFACTURER", self.book),
            console=name_that_fits(aside.get("console"), "CONSOLE", self.book),
            clear=("ALL",),
            set=settings_that_fit(aside.get("set", []), self.book),
            patch=tuple(patch),
            cues=tuple(cues),
            groups=tuple(groups),
            subs=tuple(subs),
            verbatim=keep_top_lines(aside.get("verbatim", []), "the show", self.book),
            conditions=(),
            end_seen=True,
            channels=frozenset(self.channels),
        )

    def in_order(self, section: str) -> list[str]:
        return sorted(self.show.get(section, {}), key=place_order)

    def is_place(self, key: str, what: str) -> bool:
        """Tell whether a place can be written; a slot of page 1 is the plain number as well."""
        page, dot, slot = key.partition(".")
        number = slot if dot else page
        fits = number != "0" and page != "0" and (page != "1" or slot not in self.show[what + "s"])
        if not fits:
            self.book.add(f"{what}s whose number the format cannot tell apart", f"{what} {key}")
        return fits

    def cue_list(self, key: str) -> Iterator[AsciiItem]:
        words = f"list {key}"
        cue_list = self.show["cue_lists"][key]
        for name in sorted(cue_list.keys() - {"tracking", "cues"}):
            self.book.add(f"{name.replace('_', ' ')} of cue lists", words)
        cues = [(n, cue_list["cues"][n]) for n in sorted(cue_list.get("cues", {}), key=cue_order)]
        if not WHOLE_NUMBER.fullmatch(key) or key == "0":
            self.book.add("cues of lists without a whole number", words, max(1, len(cues)))
            return
        if not cues:
            self.book.add("cue lists without cues", words)
        tracking = cue_list.get("tracking", True)
        if tracking and self.cues_as == "pictures":
            self.book.add("tracking: the cues are written as whole pictures", words)
            pictures = pictured_parts(cues, self.resolver, words)
        else:
            if tracking is not (self.cues_as == "moves"):
                self.book.add("that the cues are whole pictures: written as they are stored", words)
            pictures = (stored_parts(c, self.resolver, f"{words} cue {n}") for n, c in cues)
        for (number, cue), parts in zip(cues, pictures, strict=True):
            yield self.cue(key, number, cue, parts)

    def cue(
        self, list_key: str, number: str, cue: Mapping[str, Tree], parts: list[IntensityPart]
    ) -> AsciiItem:
        words = f"list {list_key} cue {number}"
        item = AsciiItem(number=number, page=None if list_key == "1" else list_key)
        self.aside.count_others(cue, _CUE_FIELDS, "cues", words)
        item.followon = written_follow(cue, words, self.book)
        item.link = written_link(list_key, cue, words, self.book)
        verbatim = self.aside.take(cue, words, {"verbatim"}).get("verbatim", [])
        item.verbatim = list(keep_item_lines(verbatim, words, self.book))
        filled = {part.number: self.part(part, words) for part in self.merged(cue, parts, words)}
        own = filled.pop("1")
        item.text, item.up, item.down, item.levels = own.text, own.up, own.down, own.levels
        if filled and (own.up or own.down or own.levels):
            item.parts["1"] = AsciiPart(None, own.up, own.down, own.levels)
            item.up = item.down = None
            item.levels = {}
        item.parts |= filled
        return item

    def merged(
        self, cue: Mapping[str, Tree], parts: list[IntensityPart], words: str
    ) -> Iterator["_Filled"]:
        """Yield each part once: what stands under "parts" as number 1 belongs to the cue itself."""
        fields = dict(parts_of({**cue, "parts": {}}))
        levels = {"1": dict(parts[0].levels)}
        for part in parts[1:]:
            inner = cue["parts"][part.number]
            where = f"{words} part {part.number}"
            self.aside.count_others(inner, _PART_FIELDS, "parts", where)
            if part.number == "1":
                self.book.add("that part 1 stands apart from the cue itself", where)
                fields["1"] = {**inner, **{k: v for k, v in cue.items() if k in _PART_FIELDS}}
            else:
                fields[part.number] = inner
            levels.setdefault(part.number, {}).update(part.levels)
        for number in fields:
            yield _Filled(number, fields[number], levels[number])

    def part(self, filled: "_Filled", words: str) -> AsciiPart:
        fields = filled.fields
        where = words if filled.number == "1" else f"{words} part {filled.number}"
        label = fields.get("label")
        return AsciiPart(
            text=None if label is None else label_that_fits(label, where, self.book),
            up=written_time(fields, "fade_in", "delay_in", where, self.book),
            down=written_time(fields, "fade_out", "delay_out", where, self.book),
            levels=self.spelled(filled.levels),
        )

    def spelled(self, levels: Mapping[str, Percent]) -> dict[str, str]:
        self.channels |= levels.keys()
        return {key: spell_percent(levels[key]) for key in sorted(levels, key=place_order)}

    def group(self, key: str) -> AsciiItem:
        words = f"group {key}"
        group = self.show["groups"][key]
        self.aside.count_others(group, {"name", "fixtures", "extra"}, "groups", words)
        aside = self.aside.take(group, words, {"levels", "up", "down", "verbatim"})
        item = self.item(key, group, aside, words)
        fixtures = [str(fixture) for fixture in group.get("fixtures", [])]
        whole = [fixture for fixture in fixtures if "." not in fixture]
        self.book.add("cells in groups", words, len(fixtures) - len(whole))
        self.book.add("fixtures a group names twice", words, len(whole) - len(set(whole)))
        held = aside.get("levels", {})
        item.levels = {fixture: _held_level(held, fixture) for fixture in whole}
        self.channels |= item.levels.keys()
        return item

    def submaster(self, key: str) -> AsciiItem:
        words = f"submaster {key}"
        submaster = self.show["submasters"][key]
        self.aside.count_others(submaster, {"name", "levels", "extra"}, "submasters", words)
        item = self.item(
            key, submaster, self.aside.take(submaster, words, {"up", "down", "verbatim"}), words
        )
        found = self.resolver.stored_in(submaster.get("levels", {}), words)
        item.levels = self.spelled(without_releases(found, words, self.book))
        return item

    def item(
        self, key: str, thing: Mapping[str, Tree], aside: Mapping[str, Tree], words: str
    ) -> AsciiItem:
        page, dot, slot = key.partition(".")
        name = thing.get("name")
        return AsciiItem(
            number=slot if dot else page,
            page=page if dot else None,
            text=None if name is None else label_that_fits(name, words, self.book),
            up=_held_time(aside.get("up")),
            down=_held_time(aside.get("down")),
            verbatim=list(keep_item_lines(aside.get("verbatim", []), words, self.book)),
        )

    def fixture(self, key: str) -> Iterator[AsciiPatch]:
        words = f"fixture {key}"
        fixture = self.show["patch"][key]
        self.aside.count_others(fixture, {"type", "mode", "addresses"}, "fixtures", words)
        if (fixture["type"], fixture["mode"]) != (DIMMER_TYPE, DIMMER_MODE):
            self.book.add("fixture types: each fixture becomes a dimmer", words)
        addresses = fixture.get("addresses", [])
        channel = intensity_channel(self.show, key) or {}
        slots, break_ = channel.get("slots", []), channel.get("break", 1)
        if not addresses and key not in self.channels:
            self.book.add("fixtures that are neither patched nor used", words)
        for address in addresses:
            if not slots or address.get("break", 1) != break_:
                self.book.add("addresses without an intensity", words)
                continue
            self.aside.count_others(
                address, {"universe", "address", "scale", "break"}, "addresses", words
            )
            self.book.add("fine slots of intensities", words, len(slots) - 1)
            dimmer = (address["universe"] - 1) * 512 + address["address"] + slots[0] - 1
            self.channels.add(key)
            yield AsciiPatch(1, key, str(dimmer), spell_percent(address.get("scale", 100)))

    def count_types(self, expected: bool) -> None:
        known = {DIMMER_TYPE: dict(DIMMER)} if expected else {}
        for key, kind in self.show.get("fixture_types", {}).items():
            if not same_tree(kind, known.get(key)):
                self.book.add("fixture types", f"fixture type {key}")
        for channel in sorted(self.channels - self.show.get("patch", {}).keys(), key=place_order):
            self.book.add("that a fixture is missing from the patch", f"fixture {channel}")


@dataclass(frozen=True)
class _Filled:
    """One part as it is written: its fields and its intensities."""

    number: str
    fields: Mapping[str, Tree]
    levels: Mapping[str, Percent]


def _held_level(held: Tree, fixture: str) -> str:
    """Return the level of a fixture in a group, full where none was kept aside."""
    level = held.get(fixture) if isinstance(held, dict) else None
    if isinstance(level, int | Decimal) and not isinstance(level, bool) and 0 <= level <= 100:
        return spell_percent(level)
    return "100"


def _held_time(held: Tree) -> AsciiTime | None:
    """Return a time that was kept aside; None for anything else that stands there."""
    if not (isinstance(held, list) and 1 <= len(held) <= 2):
        return None
    if not all(isinstance(n, int | Decimal) and 0 <= n <= _LONGEST_TIME for n in held):
        return None
    return AsciiTime(*map(Decimal, held))


def spell_percent(level: Percent) -> str:
    """Return a percent as plain decimal text: 62.5 is "62.5", 50.0 is "50"."""
    text = f"{Decimal(level):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
