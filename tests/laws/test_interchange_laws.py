"""What a format can hold survives writing and reading; what it cannot is told."""

import csv
import io
import os
import re
import uuid
import zipfile
from decimal import Decimal
from xml.etree import ElementTree

from hypothesis import given, settings
from hypothesis import strategies as st

from showvault.errors import ShowvaultError
from showvault.interchange.ascii_cues import AsciiReader
from showvault.interchange.ascii_parsing import parse_ascii
from showvault.interchange.ascii_rendering import render_ascii
from showvault.interchange.ascii_rules import KEYWORDS
from showvault.interchange.ascii_to_show import DIMMER
from showvault.interchange.ascii_values import level_percent
from showvault.interchange.rig import FixtureTypeReader, RigReader
from showvault.interchange.table_columns import TABLES
from showvault.interchange.tables import CsvReader, XlsxReader
from showvault.show.reading import find_faults
from showvault.show.writing import write_show
from tests.interchange.mvr_structure import find_faults_of_structure
from tests.interchange.rigs import address, channel, fixture, fixture_type, packed, rig
from tests.strategies import shows

CASES = int(os.environ.get("SHOWVAULT_FORMATS", "100"))
ASCII = AsciiReader()

fixtures = st.integers(1, 30)
percents = st.integers(0, 100) | st.integers(0, 255).map(lambda n: level_percent(f"H{n:02X}"))
levels = st.dictionaries(
    fixtures.map(str), percents.map(lambda percent: {"Dimmer": percent}), max_size=6
)


def plain(number):
    """Return a number as a show holds it."""
    return int(number) if number == int(number) else number.normalize()


seconds = st.integers(0, 200_000).map(lambda n: Decimal(n) / 1000)
labels = st.text(
    st.characters(min_codepoint=32, max_codepoint=126, exclude_characters="!"), max_size=75
).map(str.strip)
cue_numbers = st.integers(0, 20_000).map(lambda n: f"{Decimal(n) / 100:f}")


def short(number):
    whole, dot, places = number.partition(".")
    return f"{whole}.{places.rstrip('0')}".rstrip(".") if dot else number


cue_numbers = cue_numbers.map(short)
places = st.integers(1, 40).map(str) | st.tuples(st.integers(2, 9), st.integers(1, 9)).map(
    lambda both: f"{both[0]}.{both[1]}"
)


@st.composite
def parts(draw, **more):
    part = {"label": labels, "levels": levels, **more}
    made = draw(st.fixed_dictionaries({}, optional=part))
    for fade, delay in (("fade_in", "delay_in"), ("fade_out", "delay_out")):
        if draw(st.booleans()):
            made[fade] = draw(seconds)
            if draw(st.booleans()):
                made[delay] = draw(seconds)
    return made


cues = parts(
    follow=seconds.map(lambda time: {"from": "go", "seconds": time}),
    link=cue_numbers.map(lambda number: {"cue": number}),
    parts=st.dictionaries(st.integers(2, 5).map(str), parts(), max_size=2),
    extra=st.just({"ascii": {"verbatim": ["$$Own 1, 2"]}}),
)
addresses = st.lists(
    st.fixed_dictionaries(
        {"universe": st.integers(1, 63_999), "address": st.integers(1, 512)},
        optional={"scale": percents.filter(lambda percent: percent != 100)},
    ),
    max_size=3,
)


@st.composite
def ascii_shows(draw):
    """Shows that ASCII cue data can hold: intensities of dimmers, in whole pictures."""
    cue_lists = draw(
        st.dictionaries(
            st.integers(1, 4).map(str),
            st.dictionaries(cue_numbers, cues, min_size=1, max_size=4).map(
                lambda found: {"tracking": False, "cues": found}
            ),
            max_size=2,
        )
    )
    groups = draw(
        st.dictionaries(
            places,
            st.fixed_dictionaries(
                {"fixtures": st.lists(fixtures, unique=True, max_size=5)}, optional={"name": labels}
            ),
            max_size=3,
        )
    )
    submasters = draw(
        st.dictionaries(
            places,
            st.fixed_dictionaries({}, optional={"name": labels, "levels": levels}),
            max_size=3,
        )
    )
    used = {str(f) for group in groups.values() for f in group["fixtures"]}
    for submaster in submasters.values():
        used |= submaster.get("levels", {}).keys()
    for cue_list in cue_lists.values():
        for cue in cue_list["cues"].values():
            for part in (cue, *cue.get("parts", {}).values()):
                used |= part.get("levels", {}).keys()
    patch = {number: {"type": "dimmer", "mode": "8 bit"} for number in used}
    for number in draw(st.lists(fixtures.map(str), max_size=5)):
        found = draw(addresses)
        if found:
            patch[number] = {"type": "dimmer", "mode": "8 bit", "addresses": found}
    show = {"groups": groups, "submasters": submasters, "cue_lists": cue_lists, "patch": patch}
    if patch:
        show["fixture_types"] = {"dimmer": dict(DIMMER)}
    return {"format": "neutral-show", "format_version": 1} | show


@settings(max_examples=CASES, deadline=None)
@given(ascii_shows())
def test_what_ascii_cue_data_can_hold_survives_to_the_last_level(show):
    assert find_faults(write_show(show)) == []
    written = ASCII.write(show, {})
    read = ASCII.read(written.data, {})
    assert (written.losses, read.losses) == ((), ())
    assert write_show(read.show) == write_show(show)


@settings(max_examples=CASES, deadline=None)
@given(ascii_shows())
def test_writing_what_was_read_gives_the_same_bytes(show):
    data = ASCII.write(show, {}).data
    assert ASCII.write(ASCII.read(data, {}).show, {}).data == data


@settings(max_examples=CASES, deadline=None)
@given(ascii_shows())
def test_rendering_the_parsed_values_gives_the_same_parse(show):
    parsed = parse_ascii(ASCII.write(show, {}).data)
    assert parse_ascii(render_ascii(parsed)).as_json() == parsed.as_json()


@settings(max_examples=CASES, deadline=None)
@given(st.binary(max_size=300))
def test_any_bytes_read_as_some_show_that_is_understood(data):
    assert find_faults(write_show(ASCII.read(data, {}).show)) == []


lines = st.lists(
    st.sampled_from([*KEYWORDS, "$X", "$$Y", "NEW", "!"]).flatmap(
        lambda keyword: st.lists(
            st.sampled_from(["1", "2", "1@50", "3@HFF", "4@200", "x", "1.25", "1.2345", "0", "é"]),
            max_size=7,
        ).map(lambda values: " ".join([keyword, *values]))
    ),
    max_size=25,
)


@settings(max_examples=CASES, deadline=None)
@given(lines)
def test_any_lines_read_as_a_show_that_comes_back_unchanged_from_writing(found):
    """A file with faults makes an understood show; writing that loses just what it says."""
    first = ASCII.read("\r\n".join([*found, "ENDDATA"]).encode(), {}).show
    assert find_faults(write_show(first)) == []
    written = ASCII.write(first, {})
    if not written.losses:
        assert write_show(ASCII.read(written.data, {}).show) == write_show(first)


def scene_of(data):
    with zipfile.ZipFile(io.BytesIO(data)) as opened:
        return opened.read("GeneralSceneDescription.xml").decode()


def description_of(data):
    with zipfile.ZipFile(io.BytesIO(data)) as opened:
        return opened.read("description.xml").decode()


SWELL = fixture_type(
    channel("1,2", "Dimmer", Default="128/1", Highlight="255/1"),
    channel("1", "ColorAdd_R", geometry="Pixel", DMXBreak="Overwrite"),
    geometries='<Geometry Name="Body"><GeometryReference Name="A" Geometry="Pixel">'
    '<Break DMXBreak="1" DMXOffset="4"/></GeometryReference></Geometry><Geometry Name="Pixel"/>',
)
STAGE = rig(fixture(1, address("33")), fixture(2, "<UnitNumber>4</UnitNumber>"), Swell=SWELL)
scraps = st.sampled_from(
    [
        "0",
        "-1",
        "99999999999999999999",
        "x",
        "",
        "1.5",
        "nan",
        "None",
        "1,2,3,4,5",
        "1/1",
        "é",
        "&lt;",
    ]
) | st.text(st.characters(codec="utf-8", exclude_characters="<>&\"'"), max_size=8)


@st.composite
def disturbed(draw, text):
    """Replace some of the values and texts of an XML document by other ones."""
    places = [m.span(1) for m in re.finditer(r'(?:"|>)([^"<>=]*)(?:"|<)', text)]
    for start, end in sorted(draw(st.lists(st.sampled_from(places), max_size=4)), reverse=True):
        text = text[:start] + draw(scraps) + text[end:]
    return text.encode()


def reads_or_refuses(reader, data):
    try:
        show = reader.read(data, {}).show
    except ShowvaultError:
        return
    assert find_faults(write_show(show)) == []


@settings(max_examples=CASES, deadline=None)
@given(disturbed(scene_of(STAGE)))
def test_a_disturbed_rig_reads_as_an_understood_show_or_is_refused(scene):
    reads_or_refuses(
        RigReader(), packed({"GeneralSceneDescription.xml": scene, "Swell.gdtf": SWELL})
    )


@settings(max_examples=CASES, deadline=None)
@given(disturbed(description_of(SWELL)))
def test_a_disturbed_fixture_type_reads_as_an_understood_one_or_is_refused(description):
    reads_or_refuses(FixtureTypeReader(), packed({"description.xml": description}))


cells = st.sampled_from(
    ["1", "0", "-5", "1.5", "x", "", "=1+1", "'q", "101-103", "all", "type wash", "Color", "1:10"]
) | st.text(max_size=6)
headers = st.sampled_from([c.title for columns in TABLES.values() for c in columns])


@settings(max_examples=CASES, deadline=None)
@given(st.lists(headers, min_size=2, max_size=8), st.lists(st.lists(cells, max_size=8), max_size=5))
def test_any_table_reads_as_an_understood_show_or_is_refused(header, rows):
    target = io.StringIO(newline="")
    csv.writer(target).writerows([header, *rows])
    reads_or_refuses(CsvReader(), target.getvalue().encode("utf-8", "replace"))


printable = st.characters(codec="utf-8", exclude_categories=("C", "Z")) | st.sampled_from("=+-@' ")
texts = st.text(printable | st.just("\n"), max_size=10).map(lambda text: text.strip() or "plain")
fixture_entries = st.fixed_dictionaries(
    {"type": texts, "mode": texts},
    optional={
        **dict.fromkeys(("name", "position", "purpose", "color", "notes", "circuit"), texts),
        "load": st.integers(0, 5000),
        "swap_pan_tilt": st.booleans(),
        "addresses": st.lists(
            st.fixed_dictionaries(
                {"universe": st.integers(1, 63_999), "address": st.integers(1, 512)},
                optional={"break": st.integers(2, 9), "scale": percents, "curve": places},
            ),
            min_size=1,
            max_size=3,
        ),
    },
)
preset_values = st.dictionaries(
    st.sampled_from(["Dimmer", "Pan", "ColorAdd_R"]), percents, min_size=1
)


@settings(max_examples=CASES, deadline=None)
@given(
    st.dictionaries(fixtures.map(str), fixture_entries, min_size=1, max_size=4),
    st.dictionaries(
        places,
        st.fixed_dictionaries(
            {},
            optional={
                "name": texts,
                "all": preset_values,
                "types": st.dictionaries(texts, preset_values, max_size=2),
                "levels": st.dictionaries(fixtures.map(str), preset_values, max_size=2),
            },
        ),
        max_size=3,
    ),
)
def test_what_tables_can_hold_survives_in_both_kinds_of_file(patch, presets):
    show = {"format": "neutral-show", "format_version": 1, "patch": patch}
    if presets:
        show["presets"] = {"Color": presets}
    written = XlsxReader().write(show, {})
    assert written.losses == ()
    assert write_show(XlsxReader().read(written.data, {}).show) == write_show(show)
    table = CsvReader().write({**show, "presets": {}}, {"table": "patch"})
    read = CsvReader().read(table.data, {"table": "patch"}).show
    assert write_show(read) == write_show({**show, "presets": {}})


table_cues = st.fixed_dictionaries(
    {},
    optional={
        **dict.fromkeys(("label", "scene", "script_page", "called_on", "notes"), texts),
        **dict.fromkeys(("fade_in", "fade_out", "delay_in", "delay_out"), seconds),
        "block": st.booleans(),
        "follow": st.fixed_dictionaries(
            {"seconds": seconds}, optional={"from": st.sampled_from(["go", "end"])}
        ),
        "link": st.fixed_dictionaries({"cue": cue_numbers}, optional={"list": places}),
        "parts": st.dictionaries(
            st.integers(2, 5).map(str),
            st.fixed_dictionaries(
                {}, optional={"label": texts, "notes": texts, "fade_in": seconds}
            ),
            min_size=1,
            max_size=2,
        ),
    },
)


@settings(max_examples=CASES, deadline=None)
@given(
    st.dictionaries(
        places,
        st.dictionaries(cue_numbers, table_cues, min_size=1, max_size=4).map(
            lambda found: {"cues": found}
        ),
        min_size=1,
        max_size=2,
    ),
    st.dictionaries(
        places,
        st.fixed_dictionaries(
            {"name": texts},
            optional={"fixtures": st.lists(fixtures | st.just("7.2"), min_size=1, max_size=5)},
        ),
        max_size=3,
    ),
)
def test_a_cue_sheet_and_groups_survive_in_both_kinds_of_file(cue_lists, groups):
    show = {"format": "neutral-show", "format_version": 1, "cue_lists": cue_lists, "groups": groups}
    written = XlsxReader().write(show, {})
    read = XlsxReader().read(written.data, {})
    assert (written.losses, read.losses) == ((), ())
    assert write_show(read.show) == write_show(show)
    for table, section in (("cues", "cue_lists"), ("groups", "groups")):
        written = CsvReader().write({**show, "presets": {}}, {"table": table})
        alone = {"format": "neutral-show", "format_version": 1, section: show[section]}
        back = CsvReader().read(written.data, {"table": table})
        assert write_show(back.show) == write_show(alone)


uuids = st.integers(1, 2**32).map(lambda number: str(uuid.UUID(int=number)))
coordinates = st.integers(-(10**7), 10**7).map(lambda number: Decimal(number) / 1000)
hung_places = st.lists(coordinates.map(plain), min_size=12, max_size=12).filter(
    lambda numbers: numbers != [1, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0]
)
xml_texts = st.text(
    st.characters(codec="utf-8", exclude_categories=("C", "Z")) | st.just(" "), max_size=12
).map(lambda text: text.strip() or "plain")
rig_fixtures = st.fixed_dictionaries(
    {"type": xml_texts, "mode": xml_texts, "name": xml_texts},
    optional={
        "position": xml_texts,
        "purpose": xml_texts,
        "unit_number": st.integers(1, 999_999).map(str),
        "invert": st.sampled_from([["Pan"], ["Tilt"], ["Pan", "Tilt"]]),
        "addresses": st.lists(
            st.fixed_dictionaries(
                {"universe": st.integers(1, 63_999), "address": st.integers(1, 512)},
                optional={"break": st.integers(2, 5)},
            ),
            min_size=1,
            max_size=4,
        ),
        "extra": st.fixed_dictionaries(
            {},
            optional={
                "layer": xml_texts,
                "class": xml_texts,
                "matrix": hung_places,
                "fixture_id": st.sampled_from(["A1", "front", "left é"]),
                "color": st.lists(coordinates.map(plain), min_size=3, max_size=3),
            },
        )
        .filter(bool)
        .map(lambda kept: {"mvr": kept}),
    },
)


def without_given_names(patch):
    """Return a patch without what a rig gives to every fixture: its uuid, an empty layer."""
    bare = {}
    for number, found in patch.items():
        kept = {k: v for k, v in found.get("extra", {}).get("mvr", {}).items() if k != "uuid"}
        rest = {name: value for name, value in found.items() if name != "extra"}
        bare[number] = rest | ({"extra": {"mvr": kept}} if kept else {})
    return bare


@settings(max_examples=CASES, deadline=None)
@given(st.dictionaries(st.integers(1, 99_999).map(str), rig_fixtures, min_size=1, max_size=5))
def test_what_a_rig_can_hold_survives_to_the_last_place(patch):
    show = {"format": "neutral-show", "format_version": 1, "patch": patch}
    written = RigReader().write(show, {})
    read = RigReader().read(written.data, {})
    assert written.losses == ()
    assert {loss.what for loss in read.losses} <= {"fixture types that the archive does not hold"}
    assert find_faults_of_structure(ElementTree.fromstring(scene_of(written.data))) == []
    again = RigReader().write(read.show, {})
    assert write_show({"patch": without_given_names(read.show["patch"])}) == write_show(
        {"patch": patch}
    )
    assert RigReader().read(again.data, {}).show["patch"] == read.show["patch"]


def as_it_was(show):
    """Return a show without what reading a rig adds to every fixture of it."""
    return {**show, "patch": without_given_names(show["patch"])} if "patch" in show else show


def said_nothing(*results):
    return not any(result.losses for result in results)


@settings(max_examples=CASES, deadline=None)
@given(shows)
def test_no_format_loses_anything_of_any_show_in_silence(show):
    """Whatever a format does not say is lost comes back: canonical show, format, canonical show."""
    for format_, options in (
        (ASCII, {}),
        (ASCII, {"cues": "moves"}),
        (RigReader(), {}),
        (XlsxReader(), {}),
        *((CsvReader(), {"table": table}) for table in TABLES),
    ):
        written = format_.write(show, options)
        back = format_.read(written.data, options)
        assert find_faults(write_show(back.show)) == []
        if said_nothing(written, back):
            assert write_show(as_it_was(back.show)) == write_show(show), format_.name


junk = st.recursive(
    st.none() | st.booleans() | st.integers() | percents | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3)
    ),
    max_leaves=6,
)
asides = st.dictionaries(
    st.sampled_from(
        ["levels", "up", "down", "verbatim", "set", "console", "uuid", "matrix", "class"]
    ),
    junk,
    max_size=5,
)
extras = junk | st.dictionaries(st.sampled_from(["ascii", "mvr"]), asides | junk, max_size=2)


@settings(max_examples=CASES, deadline=None)
@given(extras)
def test_whatever_stands_in_extra_is_written_without_harm(extra):
    show = {
        "format": "neutral-show",
        "format_version": 1,
        "patch": {"1": {"type": "dimmer", "mode": "8 bit", "extra": extra}},
        "groups": {"1": {"fixtures": [1], "extra": extra}},
        "submasters": {"1": {"extra": extra}},
        "cue_lists": {"1": {"tracking": False, "cues": {"1": {"extra": extra}}}},
        "extra": extra,
    }
    for format_ in (ASCII, RigReader(), XlsxReader()):
        back = format_.read(format_.write(show, {}).data, {})
        assert find_faults(write_show(back.show)) == []
        assert set(back.show.get("patch", {})) == {"1"}
    assert list(ASCII.read(ASCII.write(show, {}).data, {}).show["cue_lists"]["1"]["cues"]) == ["1"]
