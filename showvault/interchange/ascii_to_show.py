"""ASCII cue data as a neutral show: what a channel, a level, a page and a part become.

- A channel is a fixture of type "dimmer"; its dimmers are its addresses (ascii_rules "dimmer").
- A cue's page is its cue list. Its part 1 is the cue itself, as in the neutral show.
- Whether a cue is a whole picture or the moves it makes is chosen by option, never guessed.
- What only this format has (a maker's lines, levels and times of groups) is carried in ``extra``.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Literal

from showvault.interchange.ascii_rules import DEFAULT_PAGE, MAKER, RULES
from showvault.interchange.ascii_values import (
    AsciiData,
    AsciiItem,
    AsciiPart,
    AsciiTime,
    level_percent,
)
from showvault.interchange.loss_book import LossBook
from showvault.interchange.reader import ReadResult
from showvault.show.addressing import CueNumberError, place_order, shortest_cue_number
from showvault.show.trees import Tree

CuesAs = Literal["pictures", "moves"]

DIMMER_TYPE = "dimmer"
DIMMER_MODE = "8 bit"
DIMMER: Mapping[str, Any] = {
    "name": "Dimmer",
    "modes": {DIMMER_MODE: {"channels": [{"attribute": "Dimmer", "slots": [1]}]}},
}
"""The fixture type that every channel has."""

_HIGHEST_DIMMER = 63_999 * 512


def show_from_ascii(data: AsciiData, cues_as: CuesAs) -> ReadResult:
    """Return the neutral show. Equal levels share one object: treat the show as read-only."""
    making = _Making()
    patch = making.patch(data)
    cue_lists = making.cue_lists(data.cues, cues_as)
    sections: dict[str, Tree] = {
        "fixture_types": {DIMMER_TYPE: DIMMER} if patch else {},
        "patch": patch,
        "groups": making.groups(data.groups),
        "submasters": making.submasters(data.subs),
        "cue_lists": cue_lists,
    }
    show: dict[str, Tree] = {"format": "neutral-show", "format_version": 1}
    show |= {name: section for name, section in sections.items() if section}
    kept = _kept_aside(data)
    if kept:
        show["extra"] = {"ascii": kept}
    for condition in data.conditions:
        if condition.kind != "no end":
            making.book.add(condition.kind, f"line {condition.line}: {condition.text}")
    return ReadResult(show, making.book.losses(), tuple(_notes(data, cues_as)))


@dataclass
class _Making:
    """The losses so far, and one shared object for each level that was met."""

    book: LossBook = field(default_factory=LossBook)
    entries: dict[str, dict[str, int | Decimal]] = field(default_factory=dict)

    def patch(self, data: AsciiData) -> dict[str, Tree]:
        addresses: dict[str, list[Tree]] = {channel: [] for channel in data.channels}
        for entry in data.patch:
            where = f"channel {entry.channel} dimmer {entry.dimmer}"
            if entry.page != DEFAULT_PAGE:
                self.book.add("patch on a page other than 1", where)
            elif int(entry.dimmer) > _HIGHEST_DIMMER:
                self.book.add("dimmer beyond universe 63999", where)
            else:
                dimmers = addresses.setdefault(entry.channel, [])
                dimmers.append(_address(int(entry.dimmer), level_percent(entry.level)))
        return {
            channel: {"type": DIMMER_TYPE, "mode": DIMMER_MODE}
            | ({"addresses": addresses[channel]} if addresses[channel] else {})
            for channel in sorted(addresses, key=place_order)
        }

    def cue_lists(self, cues: Sequence[AsciiItem], cues_as: CuesAs) -> dict[str, Tree]:
        lists: dict[str, dict[str, Tree]] = {}
        for item in cues:
            page = str(int(item.page or DEFAULT_PAGE))
            number = self.cue_number(item.number, f"line {item.line}")
            if number is not None:
                lists.setdefault(page, {})[number] = self.cue(item, f"list {page} cue {number}")
        return {
            page: {"tracking": cues_as == "moves", "cues": cues} for page, cues in lists.items()
        }

    def cue(self, item: AsciiItem, where: str) -> dict[str, Tree]:
        cue = self.part(item, where)
        first = item.parts.get("1")
        if first is not None:
            self.take_part_1(cue, self.part(first, where), where)
        if item.followon is not None:
            cue["follow"] = {"from": "go", "seconds": self.seconds(item.followon, where)}
        link = None if item.link is None else self.cue_number(item.link, where)
        if link is not None:
            cue["link"] = {"cue": link}
        parts = {
            number: self.part(part, f"{where} part {number}")
            for number, part in item.parts.items()
            if number != "1"
        }
        if parts:
            cue["parts"] = parts
        if item.verbatim:
            cue["extra"] = {"ascii": {"verbatim": [line.text for line in item.verbatim]}}
        return cue

    def take_part_1(self, cue: dict[str, Tree], first: dict[str, Tree], where: str) -> None:
        """Let part 1 stand as the cue itself; the cue's own label is the one that is kept."""
        if "label" in cue and "label" in first:
            self.book.add("label of part 1", where)
            del first["label"]
        levels = {**cue.get("levels", {}), **first.get("levels", {})}
        twice = len(cue.get("levels", {})) + len(first.get("levels", {})) - len(levels)
        self.book.add("level that the cue and its part 1 both store", where, twice)
        for name in ("fade_in", "fade_out", "delay_in", "delay_out"):
            if name in cue and name in first and cue[name] != first[name]:
                self.book.add("time of a cue whose part 1 has its own", where)
        cue.update(first)
        if levels:
            cue["levels"] = levels

    def part(self, part: AsciiPart, where: str) -> dict[str, Tree]:
        made: dict[str, Tree] = {}
        if part.text is not None:
            made["label"] = part.text
        for time, fade, delay in (
            (part.up, "fade_in", "delay_in"),
            (part.down, "fade_out", "delay_out"),
        ):
            if time is not None:
                made[fade] = self.seconds(time.time, where)
                if time.wait is not None:
                    made[delay] = self.seconds(time.wait, where)
        if part.levels:
            made["levels"] = self.levels(part.levels)
        return made

    def levels(self, written: Mapping[str, str]) -> dict[str, Tree]:
        entries = self.entries
        try:
            return dict(zip(written, map(entries.__getitem__, written.values()), strict=True))
        except KeyError:
            entries.update({raw: {"Dimmer": level_percent(raw)} for raw in written.values()})
            return self.levels(written)

    def groups(self, items: Sequence[AsciiItem]) -> dict[str, Tree]:
        groups: dict[str, Tree] = {}
        for item in items:
            percents = {channel: level_percent(raw) for channel, raw in item.levels.items()}
            group: dict[str, Tree] = {} if item.text is None else {"name": item.text}
            group["fixtures"] = [int(channel) for channel in percents]
            kept = self.item_aside(item, f"group {item.number}")
            if any(percent != 100 for percent in percents.values()):
                kept["levels"] = percents
            groups[_place(item)] = group | ({"extra": {"ascii": kept}} if kept else {})
        return groups

    def submasters(self, items: Sequence[AsciiItem]) -> dict[str, Tree]:
        submasters: dict[str, Tree] = {}
        for item in items:
            submaster: dict[str, Tree] = {} if item.text is None else {"name": item.text}
            if item.levels:
                submaster["levels"] = self.levels(item.levels)
            kept = self.item_aside(item, f"submaster {item.number}")
            submasters[_place(item)] = submaster | ({"extra": {"ascii": kept}} if kept else {})
        return submasters

    def item_aside(self, item: AsciiItem, where: str) -> dict[str, Tree]:
        kept: dict[str, Tree] = {}
        for name, time in (("up", item.up), ("down", item.down)):
            if time is not None:
                kept[name] = self.times(time, where)
        if item.verbatim:
            kept["verbatim"] = [line.text for line in item.verbatim]
        return kept

    def times(self, time: AsciiTime, where: str) -> list[int | Decimal]:
        both = [time.time] if time.wait is None else [time.time, time.wait]
        return [self.seconds(seconds, where) for seconds in both]

    def seconds(self, time: Decimal, where: str) -> int | Decimal:
        rounded = round(time, 3)
        if rounded != time:
            self.book.add("time with more than three places", where)
        return int(rounded) if rounded == int(rounded) else rounded.normalize()

    def cue_number(self, text: str, where: str) -> str | None:
        try:
            return shortest_cue_number(text)
        except CueNumberError:
            self.book.add("cue number with more than three places", f"{where}: {text}")
            return None


def _address(dimmer: int, percent: int | Decimal) -> dict[str, Tree]:
    """Return where a dimmer lies: dimmer 513 is universe 2 address 1 (common practice)."""
    place: dict[str, Tree] = {
        "universe": (dimmer - 1) // 512 + 1,
        "address": (dimmer - 1) % 512 + 1,
    }
    return place if percent == 100 else place | {"scale": percent}


def _place(item: AsciiItem) -> str:
    number = str(int(item.number))
    return number if item.page is None else f"{int(item.page)}.{number}"


def _kept_aside(data: AsciiData) -> dict[str, Tree]:
    kept: dict[str, Tree] = {}
    if data.manufacturer:
        kept["manufacturer"] = data.manufacturer
    if data.console:
        kept["console"] = data.console
    if data.set:
        kept["set"] = [list(words) for words in data.set]
    if data.verbatim:
        kept["verbatim"] = [line.text for line in data.verbatim]
    return kept


def _notes(data: AsciiData, cues_as: CuesAs) -> list[str]:
    notes = []
    if data.cues and cues_as == "pictures":
        notes.append(
            "each cue is read as a whole picture: a channel it does not list is at 0 "
            "(the option cues=moves reads it as the moves it makes)"
        )
    elif data.cues:
        notes.append(
            "each cue is read as the moves it makes: a channel it does not list keeps its level "
            "(the option cues=pictures reads it as a whole picture)"
        )
    lines = len(data.verbatim) + sum(
        len(item.verbatim) for items in (data.cues, data.groups, data.subs) for item in items
    )
    if lines:
        notes.append(f"lines that belong to one maker, carried along and not interpreted: {lines}")
    if data.cut_texts:
        notes.append(f'labels that end at a "!", which begins a comment: {data.cut_texts}')
    if not data.end_seen:
        notes.append("there is no ENDDATA: the file may be cut short")
    doubtful = [RULES[name].text for name in _rules_used(data) if RULES[name].grade == "low"]
    if doubtful:
        notes.append(f"read by rules of low confidence, from memory: {'; '.join(doubtful)}")
    return notes


def _rules_used(data: AsciiData) -> Iterator[str]:
    """Yield the names of doubtful rules that what was read rests on."""
    if data.patch:
        yield "dimmer"
    if any(item.page is not None and int(item.page) != DEFAULT_PAGE for item in data.cues):
        yield "page is list"
    if any(line.text.startswith(MAKER * 3) for line in data.verbatim):
        yield "maker basic"
    if any(condition.kind != "no end" for condition in data.conditions):
        yield "condition form"
