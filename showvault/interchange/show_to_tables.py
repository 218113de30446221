"""A neutral show as tables: patch, cue sheet, presets, groups, and what they leave out."""

from collections.abc import Callable, Iterator, Mapping

from showvault.interchange.aside import count_sections
from showvault.interchange.loss_book import LossBook
from showvault.interchange.table_cells import Grid, guard_text, spell_number
from showvault.interchange.table_columns import TABLES, TableKind
from showvault.show.addressing import cue_order, place_order
from showvault.show.trees import Tree

SECTIONS: Mapping[TableKind, str] = {
    "patch": "patch",
    "cues": "cue_lists",
    "presets": "presets",
    "groups": "groups",
}
_ADDRESS = {"universe", "address", "break", "scale", "curve"}
_FIXTURE = {
    *("name", "type", "mode", "position", "unit_number", "purpose", "color", "gobo"),
    *("accessories", "circuit", "load", "invert", "swap_pan_tilt", "notes", "addresses"),
}
_PART = {"label", "notes", "fade_in", "fade_out", "delay_in", "delay_out"}
_CUE = _PART | {"scene", "script_page", "called_on", "block", "follow", "link", "parts"}

Row = dict[str, str]


def table_of(show: Tree, kind: TableKind, book: LossBook) -> Grid:
    """Return one table of a show, its header first; what it leaves out of its things is entered."""
    makes: Mapping[TableKind, Callable[[Tree, LossBook], Iterator[Row]]] = {
        "patch": _patch_rows,
        "cues": _cue_rows,
        "presets": _preset_rows,
        "groups": _group_rows,
    }
    columns = TABLES[kind]
    rows = [[column.title for column in columns]]
    for row in makes[kind](show.get(SECTIONS[kind], {}), book):
        empty = sum(1 for text in row.values() if not text)
        book.add("empty texts, which no cell tells from none", rows[0][0], empty)
        rows.append([guard_text(_clean(row.get(column.field, ""), book)) for column in columns])
    return Grid(kind.capitalize(), rows)


def count_left_out(show: Tree, kinds: tuple[TableKind, ...], book: LossBook) -> None:
    """Enter the sections of a show that are in none of these tables."""
    carried = {"format", "format_version", *(SECTIONS[kind] for kind in kinds)}
    count_sections(show, carried, book)


def _patch_rows(patch: Tree, book: LossBook) -> Iterator[Row]:
    for key in sorted(patch, key=place_order):
        fixture = patch[key]
        words = f"fixture {key}"
        _count_others(fixture, _FIXTURE, "fixtures", words, book)
        row = {name: str(fixture[name]) for name in _FIXTURE - {"addresses"} if name in fixture}
        row["fixture"] = key
        if "load" in fixture:
            row["load"] = spell_number(fixture["load"])
        if "invert" in fixture:
            row["invert"] = ", ".join(fixture["invert"])
        if "swap_pan_tilt" in fixture:
            row["swap_pan_tilt"] = _yes_or_no(fixture["swap_pan_tilt"])
        addresses = fixture.get("addresses", [])
        yield row | (_address_cells(addresses[0], words, book) if addresses else {})
        for address in addresses[1:]:
            yield {"fixture": key} | _address_cells(address, words, book)


def _address_cells(address: Mapping[str, Tree], words: str, book: LossBook) -> Row:
    _count_others(address, _ADDRESS, "addresses", words, book)
    return {
        name: address[name] if name == "curve" else spell_number(address[name])
        for name in _ADDRESS
        if name in address
    }


def _cue_rows(cue_lists: Tree, book: LossBook) -> Iterator[Row]:
    for page in sorted(cue_lists, key=place_order):
        cue_list = cue_lists[page]
        _count_others(cue_list, {"cues"}, "cue lists", f"list {page}", book)
        book.add("cue lists without cues", f"list {page}", int(not cue_list.get("cues")))
        for number in sorted(cue_list.get("cues", {}), key=cue_order):
            cue = cue_list["cues"][number]
            words = f"list {page} cue {number}"
            _count_others(cue, _CUE, "cues", words, book)
            place = {"list": page, "cue": number}
            yield place | _part_cells(cue) | _cue_cells(cue, words, book)
            for part in sorted(cue.get("parts", {}), key=place_order):
                inner = cue["parts"][part]
                _count_others(inner, _PART, "parts", f"{words} part {part}", book)
                yield place | {"part": part} | _part_cells(inner)


def _part_cells(part: Mapping[str, Tree]) -> Row:
    cells = {name: str(part[name]) for name in ("label", "notes") if name in part}
    times = ("fade_in", "fade_out", "delay_in", "delay_out")
    return cells | {name: spell_number(part[name]) for name in times if name in part}


def _cue_cells(cue: Mapping[str, Tree], words: str, book: LossBook) -> Row:
    cells = {n: str(cue[n]) for n in ("scene", "script_page", "called_on") if n in cue}
    if "block" in cue:
        cells["block"] = _yes_or_no(cue["block"])
    follow, link = cue.get("follow", {}), cue.get("link", {})
    _count_others(follow, {"seconds", "from"}, "follows", words, book)
    _count_others(link, {"list", "cue"}, "links", words, book)
    if "seconds" in follow:
        cells["follow"] = spell_number(follow["seconds"])
        if "from" in follow:
            cells["follow_from"] = follow["from"]
    elif follow:
        book.add("follows without a time", words)
    if "cue" in link:
        cells["link_cue"] = link["cue"]
        if "list" in link:
            cells["link_list"] = link["list"]
    elif link:
        book.add("links without a cue", words)
    return cells


def _preset_rows(presets: Tree, book: LossBook) -> Iterator[Row]:
    for group in sorted(presets):
        for place in sorted(presets[group], key=place_order):
            preset = presets[group][place]
            _count_others(
                preset, {"name", "all", "types", "levels"}, "presets", f"{group} {place}", book
            )
            head = {"class": group, "preset": place}
            if "name" in preset:
                head["name"] = preset["name"]
            rows = [head | row for row in _value_rows(preset)]
            yield from rows or [head]


def _value_rows(preset: Mapping[str, Tree]) -> Iterator[Row]:
    scopes = [("all", preset.get("all", {}))]
    scopes += [(f"type {kind}", levels) for kind, levels in sorted(preset.get("types", {}).items())]
    found = preset.get("levels", {})
    scopes += [(f"fixture {key}", found[key]) for key in sorted(found, key=place_order)]
    for scope, levels in scopes:
        for attribute in sorted(levels):
            yield {"for": scope, "attribute": attribute, "level": spell_number(levels[attribute])}


def _group_rows(groups: Tree, book: LossBook) -> Iterator[Row]:
    for key in sorted(groups, key=place_order):
        group = groups[key]
        _count_others(group, {"name", "fixtures"}, "groups", f"group {key}", book)
        row = {"group": key} | ({"name": group["name"]} if "name" in group else {})
        fixtures = ", ".join(map(str, group.get("fixtures", [])))
        yield row | ({"fixtures": fixtures} if fixtures else {})


def _count_others(
    thing: Mapping[str, Tree], carried: set[str], what: str, words: str, book: LossBook
) -> None:
    for name in sorted(thing.keys() - carried):
        book.add(f"{name.replace('_', ' ')} of {what}", words)


def _clean(text: str, book: LossBook) -> str:
    """Return a text without control characters and outer blanks, which no cell keeps."""
    plain = "".join(char if char.isprintable() or char == "\n" else "?" for char in text).strip()
    book.add("characters and outer blanks that no cell keeps", text[:20], int(plain != text))
    return plain


def _yes_or_no(value: bool) -> str:
    return "yes" if value else "no"
