"""Spreadsheets as parts of a show and back. Headers are common practice; there is no standard."""

import csv
import io
import zipfile
from decimal import Decimal

import openpyxl
import pytest

from showvault.interchange.csv_grids import find_delimiter
from showvault.interchange.reader import CannotReadError, OptionError
from showvault.interchange.registry import choose_reader
from showvault.interchange.table_cells import bare_text, guard_text, parse_number, parse_seconds
from showvault.interchange.tables import CsvReader, TsvReader, XlsxReader
from showvault.show.reading import find_faults
from showvault.show.writing import write_show
from tests.interchange.rigs import packed

BASE = {"format": "neutral-show", "format_version": 1}


def read(text, encoding="utf-8", **options):
    result = CsvReader().read(text.encode(encoding), options)
    assert find_faults(write_show(result.show)) == []
    return result


def losses(result):
    return {loss.what: loss.count for loss in result.losses}


SHOW = BASE | {
    "patch": {
        "9": {
            "type": "dimmer",
            "mode": "8 bit",
            "name": 'Bühne links; "oben"',
            "addresses": [
                {"universe": 1, "address": 90},
                {"universe": 1, "address": 91, "scale": 80, "curve": "2", "break": 2},
            ],
            "position": "-Bar, 1",
            "unit_number": "007",
            "purpose": "'quoted",
            "color": "=HYPERLINK(1)",
            "gobo": "@g",
            "accessories": "+hat",
            "circuit": "C12",
            "load": Decimal("575.5"),
            "invert": ["Pan", "Tilt"],
            "swap_pan_tilt": True,
            "notes": "two\nlines",
        },
        "101": {"type": "wash", "mode": "16 bit"},
    },
    "groups": {
        "1.10": {"name": "Front", "fixtures": [103, 101, "101.2"]},
        "2": {},
    },
    "presets": {
        "Color": {
            "1.3": {
                "name": "Amber",
                "all": {"ColorAdd_B": 0},
                "types": {"LED wash": {"ColorAdd_G": 60}},
                "levels": {"101": {"ColorAdd_R": Decimal("62.123456")}, "101.2": {"ColorAdd_R": 1}},
            },
            "7": {"name": "Empty"},
        }
    },
    "cue_lists": {
        "1": {
            "cues": {
                "0.5": {"label": "=1+1", "fade_in": Decimal("3.25"), "block": True},
                "12": {
                    "label": "Storm",
                    "scene": "2.3",
                    "script_page": "41",
                    "called_on": "door slam",
                    "notes": "n",
                    "fade_in": 3,
                    "fade_out": 70,
                    "delay_in": 0,
                    "delay_out": 1,
                    "follow": {"from": "end", "seconds": 2},
                    "link": {"list": "2", "cue": "1.5"},
                    "parts": {"2": {"label": "Cyc", "fade_in": 12}},
                },
            }
        },
        "2": {"cues": {"1.5": {}}},
    },
}
SECTION = {"patch": "patch", "cues": "cue_lists", "presets": "presets", "groups": "groups"}


@pytest.mark.parametrize("kind", SECTION)
@pytest.mark.parametrize("delimiter", ["comma", "semicolon", "tab", "bar"])
def test_a_table_that_was_written_as_csv_reads_as_the_same_things(kind, delimiter):
    written = CsvReader().write(SHOW, {"table": kind, "delimiter": delimiter})
    result = CsvReader().read(written.data, {"table": kind})
    section = SECTION[kind]
    assert write_show(result.show) == write_show(BASE | {section: SHOW[section]})
    assert result.losses == ()


@pytest.mark.parametrize("kind", SECTION)
def test_the_kind_of_a_table_is_found_by_its_header(kind):
    written = CsvReader().write(SHOW, {"table": kind})
    assert CsvReader().read(written.data, {}).notes == (f"read as: {kind}",)


def test_a_workbook_that_was_written_reads_as_the_same_show():
    written = XlsxReader().write(SHOW, {})
    result = XlsxReader().read(written.data, {})
    assert write_show(result.show) == write_show(SHOW)
    assert (written.losses, result.losses) == ((), ())


def test_the_same_show_gives_the_same_workbook():
    assert XlsxReader().write(SHOW, {}).data == XlsxReader().write(SHOW, {}).data


def test_no_cell_of_a_workbook_is_a_formula():
    """Outside check: openpyxl would call a live formula "f"."""
    book = openpyxl.load_workbook(io.BytesIO(XlsxReader().write(SHOW, {}).data))
    cells = [cell for sheet in book for row in sheet.iter_rows() for cell in row]
    assert {cell.data_type for cell in cells} <= {"s", "n", "inlineStr"}
    assert any(cell.value == "'=HYPERLINK(1)" for cell in cells)


def test_no_cell_of_a_csv_begins_like_a_formula():
    """Common practice: = + - @ tab and carriage return start a formula in spreadsheets."""
    for kind in SECTION:
        text = CsvReader().write(SHOW, {"table": kind}).data.decode("utf-8-sig")
        for row in csv.reader(io.StringIO(text, newline="")):
            assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in row)


@pytest.mark.parametrize("text", ["=1", "'=1", "''", "'", "-5", "plain", "", "'plain", "@x", "\tx"])
def test_a_guarded_text_comes_back_as_it_was(text):
    assert bare_text(guard_text(text)) == text


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_the_encodings_that_spreadsheets_write_are_found(encoding):
    result = read("Kreis;Fixture;Position\n1;7;Bühne rechts\n", encoding)
    assert result.show["patch"]["7"]["position"] == "Bühne rechts"


@pytest.mark.parametrize(
    "text, delimiter",
    [
        ("a,b,c\n1,2,3", ","),
        ("a;b;c\n1,5;2;3", ";"),
        ("a\tb\n1,5\t2", "\t"),
        ("a|b\n1|2", "|"),
        ('"a;b";c;d\n1;2;3\n4;5;6', ";"),
        ("alone\n1", ","),
    ],
)
def test_the_delimiter_is_the_one_that_parts_the_lines_evenly(text, delimiter):
    assert find_delimiter(text) == delimiter


@pytest.mark.parametrize(
    "cells, place",
    [
        ("2,17", {"universe": 2, "address": 17}),
        (",513", {"universe": 2, "address": 1}),
        (",2/17", {"universe": 2, "address": 17}),
        (",2.17", {"universe": 2, "address": 17}),
    ],
)
def test_an_address_is_read_as_people_write_it(cells, place):
    """Common practice, no source: universe/address, or one number that counts through."""
    assert read(f"Chan,Univ,DMX\n1,{cells}\n").show["patch"]["1"]["addresses"] == [place]


@pytest.mark.parametrize("cells", ["1,513", "64000,1", "x,1", "1,x", ",1/2/3"])
def test_an_address_that_cannot_be_is_told(cells):
    result = read(f"Chan,Univ,DMX\n1,{cells}\n")
    assert "addresses" not in result.show["patch"]["1"]
    assert losses(result) == {"addresses that cannot be": 1}


def test_a_decimal_comma_is_a_decimal_point():
    result = read("List;Cue;Fade in\n1;2,5;3,5\n".replace("2,5", "2.5"))
    assert result.show["cue_lists"]["1"]["cues"]["2.5"]["fade_in"] == Decimal("3.5")


@pytest.mark.parametrize(
    "text, seconds",
    [
        ("3", 3),
        ("1:10", 70),
        ("2.5 s", Decimal("2.5")),
        ("x", None),
        ("-1", None),
        ("1.2345", None),
    ],
)
def test_a_time_is_read_as_people_write_it(text, seconds):
    assert parse_seconds(text) == seconds


@pytest.mark.parametrize("text", ["", "x", "1e5", "nan", "1,2,3", "0x1", "٣"])
def test_what_is_no_number_is_none(text):
    assert parse_number(text) is None


def test_headers_of_ones_own_are_named_by_option():
    result = read("Kreis,Ort\n7,Brücke\n", columns="Kreis=fixture, Ort=position")
    assert result.show["patch"]["7"]["position"] == "Brücke"


def test_a_mapping_to_a_field_that_is_not_there_is_refused():
    with pytest.raises(OptionError, match="Ort=place"):
        read("Kreis,Ort\n7,x\n", columns="Ort=place")


def test_a_header_below_a_title_is_found():
    assert "7" in read("Harbour Lights,,\n,,\nChannel,Position\n7,FOH\n").show["patch"]


def test_columns_and_rows_that_are_not_used_are_told():
    result = read("Channel,Position,Wattage,Mood\n7,FOH,x,blue\nspare,,,\n8,FOH,575 W,\n")
    assert losses(result) == {
        "column 'Mood'": 1,
        "cells that cannot be read": 1,
        "rows without a fixture number": 1,
    }
    assert result.show["patch"]["8"]["load"] == 575


def test_a_fixture_given_twice_with_other_words_is_told():
    result = read("Channel,Position\n7,FOH\n7,Bar\n")
    assert losses(result) == {"cells that an earlier row fills otherwise": 1}


def test_a_range_of_fixtures_in_a_group_is_read_and_a_bad_word_told():
    result = read("Group,Fixtures\n3,101-103; 7 x 9-1\n")
    assert result.show["groups"]["3"]["fixtures"] == [101, 102, 103, 7]
    assert losses(result) == {"fixtures of groups that cannot be read": 2}


def test_a_range_of_a_billion_fixtures_costs_no_memory():
    assert losses(read("Group,Fixtures\n3,1-999999999\n")) == {
        "fixtures of groups that cannot be read": 1
    }


def test_a_table_without_a_known_header_is_an_error_for_people():
    with pytest.raises(CannotReadError) as refused:
        read("Alpha,Beta\n1,2\n")
    assert "Fixture" in refused.value.hint


@pytest.mark.parametrize(
    "data",
    [
        b"Channel,Position" + b"," * 1_000_000 + b"\n",
        b"Channel\n" + b"x" * 200_000,
        b"PK\x03\x04\0\0\0",
        b"",
        b'"' * 999,
    ],
)
def test_a_table_made_to_do_harm_is_an_error_for_people(data):
    with pytest.raises(CannotReadError):
        CsvReader().read(data, {})


def test_what_a_table_leaves_out_is_told():
    written = CsvReader().write(SHOW | {"title": "Harbour"}, {"table": "groups"})
    assert losses(written) == {"title": 1, "patch": 2, "presets": 1, "cue lists": 2}


def test_characters_that_an_encoding_does_not_have_are_told():
    show = BASE | {"groups": {"1": {"name": "Ω", "fixtures": [1]}}}
    written = CsvReader().write(show, {"table": "groups", "encoding": "windows-1252"})
    assert losses(written) == {"texts with characters that the encoding does not have": 1}


def test_control_characters_reach_no_cell():
    show = BASE | {"groups": {"1": {"name": "a\x1b[2J\x00b", "fixtures": [1]}}}
    for writer in (CsvReader(), XlsxReader()):
        written = writer.write(show, {"table": "groups"})
        assert losses(written) == {"characters and outer blanks that no cell keeps": 1}
        assert writer.read(written.data, {}).show["groups"]["1"]["name"] == "a?[2J?b"
        assert "\x1b" not in written.losses[0].where


def test_a_workbook_is_looked_at_as_an_archive_first():
    climbing = packed({"../xl/workbook.xml": b"<x/>"})
    with pytest.raises(CannotReadError, match="climbs out"):
        XlsxReader().read(climbing, {})


def test_a_workbook_with_a_doctype_is_refused():
    source = XlsxReader().write(SHOW, {}).data
    with zipfile.ZipFile(io.BytesIO(source)) as opened:
        entries = {name: opened.read(name) for name in opened.namelist()}
    entries["xl/workbook.xml"] = b'<!DOCTYPE x [<!ENTITY a "b">]>' + entries["xl/workbook.xml"]
    with pytest.raises(CannotReadError, match="doctype"):
        XlsxReader().read(packed(entries), {})


def test_an_archive_that_is_no_workbook_is_an_error_for_people():
    with pytest.raises(CannotReadError, match="cannot be read"):
        XlsxReader().read(packed({"a.xml": b"<x/>"}), {})


def workbook(*rows, values=None):
    """Return a workbook; ``values`` are what its formulas gave last, by cell (ECMA-376, 18.3.1.4:
    the value v of a cell stands beside its formula f). openpyxl itself writes no value."""
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    target = io.BytesIO()
    book.save(target)
    with zipfile.ZipFile(target) as opened:
        entries = {name: opened.read(name) for name in opened.namelist()}
    sheet = entries["xl/worksheets/sheet1.xml"].decode()
    for cell, value in (values or {}).items():
        before, start, after = sheet.partition(f'<c r="{cell}"')
        kind = "" if isinstance(value, int) else ' t="str"'
        after = after.replace("<v />", f"<v>{value}</v>", 1).replace("<v/>", f"<v>{value}</v>", 1)
        sheet = before + start + kind + after
    entries["xl/worksheets/sheet1.xml"] = sheet.encode()
    return packed(entries)


def test_a_formula_without_a_stored_value_is_told_with_its_cell():
    data = workbook(["Channel", "Position"], [7, "=CONCATENATE(1)"], [8, "=A2"], [9, "FOH"])
    result = XlsxReader().read(data, {})
    assert result.show["patch"]["7"] == {"type": "unknown", "mode": ""}
    assert [(loss.what, loss.where, loss.count) for loss in result.losses] == [
        ("formulas without a stored value", "sheet Sheet cell B2", 2)
    ]


def test_a_formula_is_read_as_the_value_that_was_stored_last_and_that_is_noted():
    data = workbook(
        ["Channel", "Position"], ["=3+4", '=CONCATENATE("F","OH")'], values={"A2": 7, "B2": "FOH"}
    )
    result = XlsxReader().read(data, {})
    assert result.show["patch"]["7"]["position"] == "FOH"
    assert result.losses == ()
    assert "formulas are read as the value that was stored last: 2" in result.notes


def test_a_cell_that_shows_an_error_is_told_with_its_place():
    result = XlsxReader().read(workbook(["Channel", "Position"], [7, "#REF!"]), {})
    assert losses(result) == {"cells that show an error": 1}
    assert result.losses[0].where == "sheet Sheet cell B2"


@pytest.mark.parametrize("name, reader", [("a.CSV", "csv"), ("a.tsv", "tsv"), ("a.xlsx", "xlsx")])
def test_a_table_is_known_by_its_name(name, reader):
    assert choose_reader(name, b"PK\x03\x04").name == reader


def test_a_table_that_is_named_for_tabs_is_written_with_tabs():
    assert b"Group\tName\tFixtures" in TsvReader().write(SHOW, {"table": "groups"}).data
