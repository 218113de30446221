"""Tables of a patch, a cue sheet, presets or groups as parts of a neutral show.

A row that cannot be used is passed over and told with its number; a cell that cannot be used takes
nothing else along.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from showvault.interchange.loss_book import LossBook
from showvault.interchange.mvr_fixtures import HIGHEST_UNIVERSE, LAST_ADDRESS
from showvault.interchange.table_cells import (
    Grid,
    bare_text,
    parse_number,
    parse_seconds,
)
from showvault.interchange.table_columns import TableKind, find_kind, match_headers
from showvault.show.addressing import KEY_PATTERNS, CueNumberError, shortest_cue_number
from showvault.show.attributes import FEATURE_GROUPS
from showvault.show.trees import Tree

_HEADER_WITHIN = 20
_YES = frozenset({"yes", "y", "true", "1", "x", "on"})
_TEXT_FIELDS = (
    *("name", "position", "unit_number", "purpose", "color", "gobo", "accessories", "circuit"),
    "notes",
)
_FIXTURE_TEXTS = ("type", "mode", *_TEXT_FIELDS)
_NO_TYPE = {"type": "unknown", "mode": ""}
_CUE_TEXTS = ("label", "scene", "script_page", "called_on", "notes")
_TIMES = ("fade_in", "fade_out", "delay_in", "delay_out")
_FIXTURE = re.compile(KEY_PATTERNS["fixture"])
_FIXTURE_OR_CELL = re.compile(KEY_PATTERNS["fixture or cell"])
_PLACE = re.compile(KEY_PATTERNS["place"])
_NUMBER = re.compile(KEY_PATTERNS["number"])
_MOST_IN_RANGE = 10_000
_MOST_MEMBERS = 1_000_000
"""Fixtures in all groups together: a cell of ranges is short, and what it stands for is not."""

Row = Mapping[str, str]


@dataclass
class TableReading:
    """What was read so far, from one table or several."""

    book: LossBook
    sections: dict[str, dict[str, Tree]] = field(default_factory=dict)
    kinds: list[TableKind] = field(default_factory=list)
    members: int = 0
    """Fixtures in groups so far."""

    def take(self, grid: Grid, kind: TableKind | None, named: Mapping[str, str]) -> bool:
        """Read a table of a kind, or of the kind its header says; False where it says none."""
        for index, cells in enumerate(grid.rows[:_HEADER_WITHIN]):
            header = [bare_text(cell) for cell in cells]
            found = kind if kind and match_headers(kind, header, named) else None
            found = found or (None if kind else find_kind(header, named))
            if found is not None:
                self._take_rows(grid, index, found, match_headers(found, header, named))
                return True
        return False

    def _take_rows(
        self, grid: Grid, header: int, kind: TableKind, fields: Mapping[int, str]
    ) -> None:
        self.kinds.append(kind)
        takes: dict[TableKind, Callable[[Row, str], None]] = {
            "patch": self._take_fixture,
            "cues": self._take_cue,
            "presets": self._take_preset,
            "groups": self._take_group,
        }
        title = f"sheet {grid.name} " if grid.name else ""
        for index, text in enumerate(grid.rows[header]):
            if index not in fields and text.strip():
                filled = sum(
                    1 for row in grid.rows[header + 1 :] if index < len(row) and row[index].strip()
                )
                self.book.add(f"column {text.strip()[:40]!r}", f"{title}row {header + 1}", filled)
        for number, cells in enumerate(grid.rows[header + 1 :], header + 2):
            row = {
                name: text
                for index, name in fields.items()
                if index < len(cells) and (text := bare_text(cells[index].strip()))
            }
            if row:
                takes[kind](row, f"{title}row {number}")

    def _section(self, name: str) -> dict[str, Tree]:
        return self.sections.setdefault(name, {})

    def _take_fixture(self, row: Row, where: str) -> None:
        key = row.get("fixture", "")
        if not _FIXTURE.fullmatch(key):
            self.book.add("rows without a fixture number", f"{where}: {key[:40]}")
            return
        patch = self._section("patch")
        fixture = patch.setdefault(key, dict(_NO_TYPE))
        self._fill(fixture, {n: row[n] for n in _FIXTURE_TEXTS if n in row}, where)
        load = self._number(row, "load", where, 0, Decimal(10) ** 9)
        if load is not None:
            fixture["load"] = load
        if "invert" in row:
            fixture["invert"] = [part.strip() for part in row["invert"].split(",") if part.strip()]
        if "swap_pan_tilt" in row:
            fixture["swap_pan_tilt"] = row["swap_pan_tilt"].lower() in _YES
        address = self._address(row, where)
        if address is not None:
            fixture.setdefault("addresses", []).append(address)

    def _address(self, row: Row, where: str) -> dict[str, Tree] | None:
        text = row.get("address", "")
        if not text or text == "0":
            return None
        place = _place_of(row.get("universe", ""), text)
        if place is None:
            self.book.add("addresses that cannot be", f"{where}: {text[:40]}")
            return None
        address: dict[str, Tree] = {"universe": place[0], "address": place[1]}
        break_ = self._number(row, "break", where, 1, 1_000_000)
        if isinstance(break_, int) and break_ != 1:
            address["break"] = break_
        scale = self._number(row, "scale", where, 0, 100)
        if scale is not None:
            address["scale"] = scale
        if "curve" in row:
            if _PLACE.fullmatch(row["curve"]):
                address["curve"] = row["curve"]
            else:
                self.book.add("curves that are no number", f"{where}: {row['curve'][:40]}")
        return address

    def _take_cue(self, row: Row, where: str) -> None:
        number = self._cue_number(row.get("cue", ""), where)
        page = row.get("list", "1")
        part = row.get("part", "1")
        if number is None or not _PLACE.fullmatch(page) or not _NUMBER.fullmatch(part):
            if number is not None:
                self.book.add("rows with a list or part that is no number", where)
            return
        cues = self._section("cue_lists").setdefault(page, {"cues": {}})["cues"]
        cue = cues.setdefault(number, {})
        target = cue if part == "1" else cue.setdefault("parts", {}).setdefault(part, {})
        texts = _CUE_TEXTS if part == "1" else ("label", "notes")
        self._fill(target, {name: row[name] for name in texts if name in row}, where)
        for name in _TIMES:
            seconds = self._seconds(row, name, where)
            if seconds is not None:
                target[name] = seconds
        if part == "1":
            self._take_whole_cue(cue, row, where)

    def _take_whole_cue(self, cue: dict[str, Tree], row: Row, where: str) -> None:
        seconds = self._seconds(row, "follow", where)
        if seconds is not None:
            cue["follow"] = {"seconds": seconds}
            if row.get("follow_from") in ("go", "end"):
                cue["follow"]["from"] = row["follow_from"]
            elif "follow_from" in row:
                self.book.add("cells that cannot be read", f"{where}, Follow from")
        if "link_cue" in row:
            link = self._cue_number(row["link_cue"], where)
            if link is not None:
                cue["link"] = {"cue": link}
                if _PLACE.fullmatch(row.get("link_list", "")):
                    cue["link"]["list"] = row["link_list"]
        if "block" in row:
            cue["block"] = row["block"].lower() in _YES

    def _take_preset(self, row: Row, where: str) -> None:
        classes = {group.casefold(): group for group in FEATURE_GROUPS}
        group = classes.get(row.get("class", "").casefold())
        place = row.get("preset", "")
        if group is None or not _PLACE.fullmatch(place):
            self.book.add("rows without a preset class and number", where)
            return
        preset = self._section("presets").setdefault(group, {}).setdefault(place, {})
        self._fill(preset, {"name": row["name"]} if "name" in row else {}, where)
        if "attribute" not in row:
            return
        level = self._number(row, "level", where, 0, 100)
        if level is None:
            return
        scope = row.get("for", "all")
        kind, _, name = scope.partition(" ")
        if scope.lower() == "all":
            preset.setdefault("all", {})[row["attribute"]] = level
        elif kind.lower() == "type" and name:
            preset.setdefault("types", {}).setdefault(name, {})[row["attribute"]] = level
        elif kind.lower() == "fixture" and _FIXTURE_OR_CELL.fullmatch(name):
            preset.setdefault("levels", {}).setdefault(name, {})[row["attribute"]] = level
        else:
            self.book.add("rows that are for nobody", f"{where}: {scope[:40]}")

    def _take_group(self, row: Row, where: str) -> None:
        place = row.get("group", "")
        if not _PLACE.fullmatch(place):
            self.book.add("rows without a group number", f"{where}: {place[:40]}")
            return
        group = self._section("groups").setdefault(place, {})
        self._fill(group, {"name": row["name"]} if "name" in row else {}, where)
        fixtures: list[int | str] = []
        for word in re.split(r"[,;\s]+", row.get("fixtures", "")):
            is_read = word and self.members < _MOST_MEMBERS
            found = list(_fixtures_in(word)) if is_read else []
            if word and not found:
                self.book.add("fixtures of groups that cannot be read", f"{where}: {word[:40]}")
            fixtures += found
            self.members += len(found)
        if fixtures:
            group.setdefault("fixtures", []).extend(fixtures)

    def _fill(self, thing: dict[str, Tree], texts: Mapping[str, str], where: str) -> None:
        """Fill in texts; what an earlier row gave otherwise is told, and the later stands."""
        for name, text in texts.items():
            if thing.get(name, text) not in (text, _NO_TYPE.get(name)):
                self.book.add("cells that an earlier row fills otherwise", f"{where}, {name}")
            thing[name] = text

    def _number(
        self, row: Row, name: str, where: str, low: int, high: int | Decimal
    ) -> int | Decimal | None:
        if name not in row:
            return None
        number = parse_number(row[name].removesuffix("%").removesuffix("W"))
        if number is None or not low <= number <= high:
            self.book.add("cells that cannot be read", f"{where}, {name}: {row[name][:40]}")
            return None
        return round(number, 6) if isinstance(number, Decimal) else number

    def _seconds(self, row: Row, name: str, where: str) -> int | Decimal | None:
        if name not in row:
            return None
        seconds = parse_seconds(row[name])
        if seconds is None:
            self.book.add("cells that cannot be read", f"{where}, {name}: {row[name][:40]}")
        return seconds

    def _cue_number(self, text: str, where: str) -> str | None:
        try:
            return shortest_cue_number(text)
        except CueNumberError:
            self.book.add("rows without a cue number", f"{where}: {text[:40]}")
            return None


def _place_of(universe_text: str, text: str) -> tuple[int, int] | None:
    """Return universe and address: "1/101" and "1.101" say both; a number alone counts on."""
    parts = re.split(r"[./:\-]", text)
    if not universe_text and len(parts) == 2:
        universe_text, text = parts
    if not (_NUMBER.fullmatch(text.lstrip("0") or "-")):
        return None
    address = int(text)
    if not universe_text:
        universe, address = (address - 1) // LAST_ADDRESS + 1, (address - 1) % LAST_ADDRESS + 1
    elif _NUMBER.fullmatch(universe_text.lstrip("0") or "-"):
        universe = int(universe_text)
    else:
        return None
    good = universe <= HIGHEST_UNIVERSE and address <= LAST_ADDRESS
    return (universe, address) if good else None


def _fixtures_in(word: str) -> Iterator[int | str]:
    """Yield the fixtures of "101", "101.2" and "101-108"; nothing for any other word."""
    first, dash, last = word.partition("-")
    if not dash and _FIXTURE.fullmatch(word):
        yield int(word)
    elif not dash and _FIXTURE_OR_CELL.fullmatch(word):
        yield word
    elif _FIXTURE.fullmatch(first) and _FIXTURE.fullmatch(last):
        numbers = range(int(first), int(last) + 1)
        yield from numbers if len(numbers) <= _MOST_IN_RANGE else ()


def show_from_tables(sections: Mapping[str, Tree]) -> Tree:
    """Return the neutral show of the sections that were read."""
    return {"format": "neutral-show", "format_version": 1} | {
        name: section for name, section in sections.items() if section
    }
