"""Which columns the tables of a show have, and by which words of the trade they are known.

Headers are compared without regard to case, blanks and punctuation. Common practice, no source.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from showvault.interchange.reader import OptionError

TableKind = Literal["patch", "cues", "presets", "groups"]


@dataclass(frozen=True)
class Column:
    """One column: the field it fills, the header it is written under, other headers it has."""

    field: str
    title: str
    also: tuple[str, ...] = ()


TABLES: Mapping[TableKind, tuple[Column, ...]] = {
    "patch": (
        Column("fixture", "Fixture", ("channel", "chan", "ch", "fixture number", "fixture id")),
        Column("name", "Name", ("label", "fixture name")),
        Column("type", "Type", ("fixture type", "instrument", "instrument type", "unit type")),
        Column("mode", "Mode", ("fixture mode", "dmx mode")),
        Column("universe", "Universe", ("univ", "dmx universe")),
        Column("address", "Address", ("dmx", "addr", "dmx address", "start address", "dimmer")),
        Column("break", "Break", ("dmx break",)),
        Column("scale", "Scale", ("proportion",)),
        Column("curve", "Curve", ("dimmer curve",)),
        Column("position", "Position", ("hanging position", "location")),
        Column("unit_number", "Unit", ("unit number", "unit no", "unit #")),
        Column("purpose", "Purpose", ("focus", "use")),
        Column("color", "Color", ("colour", "gel")),
        Column("gobo", "Gobo", ("template", "pattern")),
        Column("accessories", "Accessories", ("accessory",)),
        Column("circuit", "Circuit", ("circuit number",)),
        Column("load", "Load", ("watts", "wattage", "power")),
        Column("invert", "Invert"),
        Column("swap_pan_tilt", "Swap pan and tilt", ("swap",)),
        Column("notes", "Notes", ("note", "remarks", "comment")),
    ),
    "cues": (
        Column("list", "List", ("cue list",)),
        Column("cue", "Cue", ("cue number", "q", "number")),
        Column("part", "Part"),
        Column("label", "Label", ("name", "text", "description")),
        Column("fade_in", "Fade in", ("up", "time up", "time in", "fade", "time")),
        Column("fade_out", "Fade out", ("down", "time down", "time out")),
        Column("delay_in", "Delay in", ("delay", "delay up", "wait")),
        Column("delay_out", "Delay out", ("delay down",)),
        Column("follow", "Follow", ("follow on", "autofollow", "follow time")),
        Column("follow_from", "Follow from"),
        Column("link_list", "Link list"),
        Column("link_cue", "Link", ("link cue", "next cue")),
        Column("block", "Block"),
        Column("scene", "Scene"),
        Column("script_page", "Script page", ("page",)),
        Column("called_on", "Called on", ("cue line", "called")),
        Column("notes", "Notes", ("note", "remarks", "comment")),
    ),
    "presets": (
        Column("class", "Class", ("preset class", "feature group", "kind")),
        Column("preset", "Preset", ("preset number", "number")),
        Column("name", "Name", ("label",)),
        Column("for", "For", ("scope",)),
        Column("attribute", "Attribute", ("parameter",)),
        Column("level", "Level", ("value",)),
    ),
    "groups": (
        Column("group", "Group", ("group number", "number")),
        Column("name", "Name", ("label",)),
        Column("fixtures", "Fixtures", ("channels", "members")),
    ),
}
NEEDED: Mapping[TableKind, frozenset[str]] = {
    "patch": frozenset({"fixture"}),
    "cues": frozenset({"cue"}),
    "presets": frozenset({"class", "preset", "attribute", "level"}),
    "groups": frozenset({"group", "fixtures"}),
}
"""The columns without which a table is not one of this kind."""

_WORDS = re.compile(r"[^0-9a-z#]+")


def match_headers(
    kind: TableKind, header: Sequence[str], named: Mapping[str, str]
) -> dict[int, str]:
    """Return which field each column fills, by its index; ``named`` are headers given by a person.

    The first column that fits a field has it; no column has two.
    """
    known = {
        _plain(word): column.field
        for column in TABLES[kind]
        for word in (column.title, column.field, *column.also)
    }
    known |= {_plain(word): field for word, field in named.items()}
    found: dict[int, str] = {}
    for index, text in enumerate(header):
        field = known.get(_plain(text))
        if field is not None and field not in found.values():
            found[index] = field
    return found


def find_kind(header: Sequence[str], named: Mapping[str, str]) -> TableKind | None:
    """Return the kind of table whose columns a header names most of; None for no kind."""
    scores = []
    for kind in TABLES:
        fields = set(match_headers(kind, header, named).values())
        if NEEDED[kind] <= fields and len(fields) >= 2:
            scores.append((len(fields), kind))
    return max(scores, key=lambda score: score[0])[1] if scores else None


def parse_columns(text: str, kinds: Sequence[TableKind]) -> dict[str, str]:
    """Return a column mapping as a person writes it: "Kanal=fixture, Ort=position".

    Raises OptionError for a field that no table of these kinds has.
    """
    fields = {column.field for kind in kinds for column in TABLES[kind]}
    named = {}
    for pair in filter(None, map(str.strip, text.split(","))):
        header, equals, field = (part.strip() for part in pair.partition("="))
        if not equals or not header or field not in fields:
            raise OptionError(
                f"columns cannot be {pair!r}",
                hint=f"write HEADER=FIELD; the fields are {', '.join(sorted(fields))}",
            )
        named[header] = field
    return named


def _plain(text: str) -> str:
    return _WORDS.sub(" ", text.casefold().replace("_", " ")).strip()
