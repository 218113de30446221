"""Files of open formats that were made to do harm: a clear error, or a bounded reading.

Each is small itself and would be large, slow or outside its folder if it were believed. What an
attack may cost is held in bytes of memory that Python allocates, never in seconds.
"""

import io
import struct
import tracemalloc
import zipfile
import zlib

import openpyxl
import pytest

from showvault.errors import ShowvaultError
from showvault.interchange.allowance import LONGEST_NAME, Allowance, TooLargeError
from showvault.interchange.archives import UnsafeArchiveError, open_archive
from showvault.interchange.ascii_cues import AsciiReader
from showvault.interchange.fixture_types import read_fixture_type
from showvault.interchange.loss_book import LossBook
from showvault.interchange.reader import CannotReadError
from showvault.interchange.rig import FixtureTypeReader, RigReader
from showvault.interchange.safe_xml import MOST_ATTRIBUTES, MOST_TAGS, parse_xml
from showvault.interchange.tables import CsvReader, XlsxReader
from tests.interchange.rigs import address, channel, fixture, fixture_type, packed, rig, scene, uid

MEGABYTE = 1_000_000


def peak_of(work):
    """Return the most memory that Python held at once while it worked, in bytes."""
    tracemalloc.start()
    try:
        work()
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def refused(reader, data):
    with pytest.raises(ShowvaultError) as error:
        reader.read(data, {})
    assert str(error.value).isprintable()
    return str(error.value)


def losses(result):
    return {loss.what: loss.count for loss in result.losses}


def overlapping(count, payload):
    """Return an archive whose entries all lie on the bytes of one (APPNOTE.TXT 4.3.7, 4.3.12)."""
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    body = packer.compress(payload) + packer.flush()
    sizes = struct.pack("<LLL", zlib.crc32(payload), len(body), len(payload))
    local = b"PK\x03\x04" + struct.pack("<HHHHH", 20, 0, 8, 0, 33) + sizes
    data = local + struct.pack("<HH", 8, 0) + b"e0000000" + body
    directory = b"".join(
        b"PK\x01\x02"
        + struct.pack("<HHHHHH", 20, 20, 0, 8, 0, 33)
        + sizes
        + struct.pack("<HHHHHLL", 8, 0, 0, 0, 0, 0, 0)
        + f"e{n:07}".encode()
        for n in range(count)
    )
    end = struct.pack("<HHHHLLH", 0, 0, count, count, len(directory), len(data), 0)
    return data + directory + b"PK\x05\x06" + end


def test_one_entry_that_is_named_once_is_an_honest_archive():
    """Holds the builder: what is refused below is the overlap and nothing else."""
    archive = open_archive(overlapping(1, b"levels" * 99), Allowance())
    assert archive.read("e0000000") == b"levels" * 99


def test_entries_that_lie_on_the_same_bytes_are_refused():
    with pytest.raises(UnsafeArchiveError, match="lies inside another"):
        open_archive(overlapping(2, b"\0" * 1000), Allowance())


def test_an_entry_that_begins_inside_the_last_one_is_refused():
    data = bytearray(packed({"a.xml": b"1" * 99, "b.xml": b"2" * 99}))
    second = data.rfind(b"PK\x01\x02")
    data[second + 42 : second + 46] = struct.pack("<L", 5)
    with pytest.raises(CannotReadError):
        open_archive(bytes(data), Allowance()).read("b.xml")


@pytest.mark.parametrize(
    "name",
    [
        *("D:scene.xml", "\\\\server\\share\\x", "x\\..\\..\\y", "a/./../../b", "//host/x"),
        *("..", "../", "x/..", "C:\\Windows\\x", "\\x", "z:\\..\\x"),
    ],
)
def test_a_name_that_leaves_the_archive_on_any_system_is_refused(name):
    with pytest.raises(UnsafeArchiveError, match="climbs out"):
        open_archive(packed({name: b"x"}), Allowance())


def test_a_claim_of_more_entries_than_there_are_is_an_error_for_people():
    data = bytearray(packed({"a.xml": b"1"}))
    end = data.rfind(b"PK\x05\x06")
    data[end + 8 : end + 12] = b"\xff\xff\xff\xff"
    data[end + 12 : end + 16] = b"\xff\xff\xff\x7f"
    with pytest.raises(CannotReadError):
        open_archive(bytes(data), Allowance())


@pytest.mark.parametrize("field", [20, 24])
@pytest.mark.parametrize("claim", [0, 1, 0xFFFFFFFE])
def test_a_size_that_lies_never_gives_more_than_the_limit(field, claim):
    """Compressed size and size in the directory (APPNOTE.TXT 4.4.8, 4.4.9)."""
    data = bytearray(packed({"scene.xml": b"\0" * MEGABYTE}))
    entry = data.rfind(b"PK\x01\x02")
    data[entry + field : entry + field + 4] = struct.pack("<L", claim)

    def read():
        with pytest.raises(CannotReadError):
            open_archive(bytes(data), Allowance()).read("scene.xml", limit=1000)

    assert peak_of(read) < MEGABYTE


def test_what_small_archives_inside_one_unpack_to_counts_together():
    """Each keeps every limit of its own; together they would unpack to 20 times as much."""
    inner = fixture_type(channel("1", "Dimmer"), geometries=f"<Geometry/>{' ' * 3_000_000}")
    entries = {f"T{n}.gdtf": inner for n in range(20)}
    fixtures = [fixture(n + 1, spec=f"T{n}.gdtf") for n in range(20)]
    data = packed({"GeneralSceneDescription.xml": scene(*fixtures), **entries})
    assert len(data) < 200_000
    allowance = Allowance(bytes=10 * MEGABYTE)
    archive = open_archive(data, allowance)
    with pytest.raises(UnsafeArchiveError, match="unpacks to more"):
        for name in entries:
            read_fixture_type(archive.read(name), None, LossBook(), name, allowance)
    assert RigReader().read(data, {}).show["fixture_types"]["T19"]["modes"]


NESTED = b"<a>" * MEGABYTE + b"</a>" * MEGABYTE


@pytest.mark.parametrize(
    "document",
    [
        NESTED,
        b"<a>" * 900_000,
        b"<a>" + b"<b/>" * (MOST_TAGS + 1) + b"</a>",
        b"<a " + b"".join(b'x%d="" ' % n for n in range(MOST_ATTRIBUTES + 1)) + b"/>",
    ],
    ids=["a million levels", "never closed", "millions of elements", "millions of attributes"],
)
def test_xml_that_takes_more_memory_than_its_bytes_is_refused(document):
    with pytest.raises(CannotReadError, match=r"not read|not whole"):
        parse_xml(document, "scene.xml", "a")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
@pytest.mark.parametrize(
    "doctype",
    [
        '<!DOCTYPE r [<!ENTITY a "0123456789"><!ENTITY b "&a;&a;&a;&a;"><!ENTITY c "&b;&b;">]>',
        '<!DOCTYPE r [<!ENTITY % x SYSTEM "file:///etc/passwd"> %x;]>',
        '<!DOCTYPE r PUBLIC "-//X//Y" "http://127.0.0.1:9/x.dtd">',
        '<!DOCTYPE r [<!ATTLIST r a CDATA "b">]>',
        "<!DOCTYPE\nr>",
    ],
)
@pytest.mark.parametrize("reader", [RigReader(), FixtureTypeReader()], ids=["mvr", "gdtf"])
def test_a_doctype_is_refused_in_every_file_that_holds_xml(reader, doctype, encoding):
    text = f'<?xml version="1.0" encoding="{encoding}"?>{doctype}<r>&c;</r>'.encode(encoding)
    names = ("GeneralSceneDescription.xml", "description.xml")
    refused(reader, packed(dict.fromkeys(names, text)))


def test_modes_that_repeat_more_channels_than_any_rig_are_refused():
    references = '<GeometryReference Name="C" Geometry="Pixel"/>' * 400
    mode = "".join(channel("1", f"Control{n}", geometry="Pixel") for n in range(40))
    more = "".join(
        f'<DMXMode Name="M{n}" Geometry="Body"><DMXChannels>{mode}</DMXChannels></DMXMode>'
        for n in range(60)
    )
    geometries = f'<Geometry Name="Body">{references}</Geometry><Geometry Name="Pixel"/>'
    data = fixture_type(more_modes=more, geometries=geometries)
    assert len(data) < 100_000
    with pytest.raises(TooLargeError, match="more channels than any rig"):
        FixtureTypeReader().read(data, {})
    result = RigReader().read(rig(*(fixture(n + 1, mode=f"M{n}") for n in range(60)), T=data), {})
    assert len(result.show["patch"]) == 60


def test_many_functions_that_are_repeated_count_as_channels_do():
    functions = "".join(f'<ChannelFunction Name="F{n}" DMXFrom="{n}/2"/>' for n in range(20_000))
    references = '<GeometryReference Name="C" Geometry="Pixel"/>' * 100
    data = fixture_type(
        channel("1", "Dimmer", functions, geometry="Pixel"),
        geometries=f'<Geometry Name="Body">{references}</Geometry><Geometry Name="Pixel"/>',
    )
    with pytest.raises(TooLargeError):
        FixtureTypeReader().read(data, {})


def test_a_name_that_is_written_once_and_referred_to_often_is_cut_and_that_is_told():
    name = "B" * MEGABYTE
    aux = f'<Position uuid="{uid(50)}" name="{name}"/><Class uuid="{uid(51)}" name="{name}"/>'
    inside = f"<Position>{uid(50)}</Position><Classing>{uid(51)}</Classing>"
    result = RigReader().read(rig(*(fixture(n, inside) for n in range(1, 50)), aux=aux), {})
    assert {len(f["position"]) for f in result.show["patch"].values()} == {LONGEST_NAME}
    assert losses(result)[f"ends of names of more than {LONGEST_NAME} characters"] == 2


def test_a_long_attribute_that_is_repeated_is_cut_and_that_is_told():
    references = "".join(f'<GeometryReference Name="C{n}" Geometry="Pixel"/>' for n in range(200))
    data = fixture_type(
        channel("1", "X" * MEGABYTE, geometry="Pixel"),
        geometries=f'<Geometry Name="Body">{references}</Geometry><Geometry Name="Pixel"/>',
    )
    result = FixtureTypeReader().read(data, {})
    assert f"ends of names of more than {LONGEST_NAME} characters" in losses(result)
    (kind,) = result.show["fixture_types"].values()
    cells = kind["modes"]["Basic"]["cells"].values()
    assert sum(len(c["attribute"]) for cell in cells for c in cell["channels"]) < MEGABYTE


def test_fixtures_that_hang_in_each_other_a_hundred_thousand_deep_are_refused():
    deep = f'<Fixture uuid="{uid(1)}"><ChildList>' * 100_000 + "</ChildList></Fixture>" * 100_000
    assert "nested more than" in refused(RigReader(), rig(deep))


def test_many_addresses_of_one_fixture_are_read_as_they_stand():
    inside = "<Addresses>" + "<Address>1</Address>" * 50_000 + "</Addresses>"
    show = RigReader().read(rig(fixture(1, inside)), {}).show
    assert len(show["patch"]["1"]["addresses"]) == 50_000


@pytest.mark.parametrize("columns", [1001, MEGABYTE])
def test_a_table_of_more_columns_than_any_is_refused(columns):
    assert "columns" in refused(CsvReader(), b"Channel,Position" + b"," * columns + b"\n1,FOH\n")


@pytest.mark.parametrize(
    "table", [b"Channel,Position\n" + b"\n" * 300_000, b'Channel,"' + b"x" * 200_000 + b"\n"]
)
def test_a_table_of_more_rows_or_longer_cells_than_any_is_refused(table):
    refused(CsvReader(), table)


def test_cells_of_ranges_stand_for_a_million_fixtures_at_most():
    row = b'3,"' + b"1-9999 " * 14_000 + b'"\n'
    data = b"Group,Fixtures\n" + row * 20
    result = CsvReader().read(data, {})
    assert len(result.show["groups"]["3"]["fixtures"]) < 1_020_000
    assert losses(result)["fixtures of groups that cannot be read"] > 200_000


SHARED_STRINGS = (
    b'<Override PartName="/xl/sharedStrings.xml" ContentType="application/vnd.openxmlformats-'
    b'officedocument.spreadsheetml.sharedStrings+xml"/>'
)


def workbook_with(sheet=None, strings=None, **parts):
    """Return a workbook with parts of another's making."""
    book = openpyxl.Workbook()
    book.active.append(["Channel", "Position"])
    book.active.append([7, "FOH"])
    target = io.BytesIO()
    book.save(target)
    with zipfile.ZipFile(target) as opened:
        entries = {name: opened.read(name) for name in opened.namelist()}
    if sheet is not None:
        entries["xl/worksheets/sheet1.xml"] = sheet
    if strings is not None:
        entries["xl/sharedStrings.xml"] = strings
        entries["[Content_Types].xml"] = entries["[Content_Types].xml"].replace(
            b"</Types>", SHARED_STRINGS + b"</Types>"
        )
    return packed(entries | parts)


MAIN = b'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'


def sheet_of(rows, dimension=b""):
    return b"<worksheet %s>%s<sheetData>%s</sheetData></worksheet>" % (MAIN, dimension, rows)


def test_a_sheet_is_not_believed_about_its_own_size():
    """ECMA-376 Part 1, 18.3.1.35, dimension."""
    rows = (
        b'<row r="1"><c r="A1" t="inlineStr"><is><t>Channel</t></is></c>'
        b'<c r="B1" t="inlineStr"><is><t>Position</t></is></c></row>'
        b'<row r="2"><c r="A2"><v>7</v></c><c r="B2" t="inlineStr"><is><t>FOH</t></is></c></row>'
    )
    sheet = sheet_of(rows, b'<dimension ref="A1:XFD1048576"/>')
    show = XlsxReader().read(workbook_with(sheet), {}).show
    assert show["patch"]["7"]["position"] == "FOH"


@pytest.mark.parametrize(
    "rows",
    [
        b'<row r="1"><c r="XFD1"><v>1</v></c></row>',
        b"".join(b'<row r="%d"><c r="XFD%d"/></row>' % (n, n) for n in range(1, 1300)),
        b'<row r="1048576"><c r="A1048576"><v>1</v></c></row>',
        b"<row/>" * 250_000,
    ],
    ids=["last column", "last column, empty, in every row", "last row", "empty rows"],
)
def test_a_sheet_that_names_its_farthest_cells_is_refused(rows):
    assert "larger than" in (said := refused(XlsxReader(), workbook_with(sheet_of(rows)))) or (
        "more than" in said
    )


def test_one_stored_text_that_stands_in_many_cells_is_refused():
    """ECMA-376 Part 1, 18.4.8: a shared string may be referred to any number of times."""
    strings = b"<sst %s><si><t>%s</t></si></sst>" % (MAIN, b"x" * 90_000)
    row = b'<row r="%d"><c r="A%d" t="s"><v>0</v></c><c r="B%d" t="s"><v>0</v></c></row>'
    rows = b"".join(row % (n, n, n) for n in range(1, 2000))
    data = workbook_with(sheet_of(rows), strings)
    assert len(data) < 100_000
    assert "larger than" in refused(XlsxReader(), data)


def test_a_cell_that_is_longer_than_any_is_refused():
    strings = b"<sst %s><si><t>%s</t></si></sst>" % (MAIN, b"x" * 200_000)
    rows = b'<row r="1"><c r="A1" t="s"><v>0</v></c></row>'
    assert "larger than" in refused(XlsxReader(), workbook_with(sheet_of(rows), strings))


def test_a_style_sheet_of_millions_of_elements_is_refused_before_the_library_sees_it():
    styles = b"<styleSheet %s>%s</styleSheet>" % (MAIN, b"<b/>" * (MOST_TAGS + 1))
    said = refused(XlsxReader(), workbook_with(**{"xl/styles.xml": styles}))
    assert "more elements than any" in said


def test_a_workbook_of_more_sheets_than_any_is_refused():
    book = openpyxl.Workbook()
    for _ in range(60):
        book.create_sheet()
    target = io.BytesIO()
    book.save(target)
    assert "sheets" in refused(XlsxReader(), target.getvalue())


@pytest.mark.parametrize(
    "data",
    [
        b"IDENT 3:0\nCUE 1\nCHAN " + b"1@50 " * MEGABYTE + b"\nENDDATA",
        b"IDENT 3:0\n" + b"$$$$ maker\n" * 200_000 + b"ENDDATA",
        b"IDENT 3:0\nCUE " + b"9" * MEGABYTE + b"\nENDDATA",
        b"IDENT 3:0\nCUE 1\nUP " + b"1" * MEGABYTE + b":00\nENDDATA",
        b"IDENT 3:0\nPATCH 1 1 999999999 100\nSUB 999999999 999999999\nENDDATA",
        b"IDENT 3:0\n" + b"\xf0\x9f\x92\xa1" * 100_000 + b"\nENDDATA",
    ],
    ids=["long line", "maker lines", "long number", "long time", "huge numbers", "no ASCII"],
)
def test_cue_data_made_to_do_harm_is_read_in_memory_of_its_own_size(data):
    assert peak_of(lambda: AsciiReader().read(data, {})) < 40 * len(data) + MEGABYTE


def test_an_address_of_a_thousand_digits_is_none():
    data = rig(fixture(1, address("9" * 10_000)), fixture(2, address(f"1.{'0' * 10_000}1")))
    result = RigReader().read(data, {})
    assert all("addresses" not in found for found in result.show["patch"].values())
    assert losses(result)["addresses that cannot be"] == 2
