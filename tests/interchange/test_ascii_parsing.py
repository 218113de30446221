"""The rules of ASCII cue data, one by one.

The standard is USITT "ASCII Text Representation for Lighting Console Data", version 3.0 (ident 3:0,
1992). Its body was not at hand; each test says how sure its rule is ("read" in a published page, or
"from memory" with a grade), as ascii_rules does.
"""

import json
from decimal import Decimal
from pathlib import Path

import pytest

from showvault.interchange.ascii_parsing import parse_ascii
from showvault.interchange.ascii_rules import KEYWORDS
from showvault.interchange.ascii_values import AsciiTime, level_percent, level_steps

EXAMPLES = Path(__file__).parent / "ascii"


def parse(*lines, end=("ENDDATA",)):
    return parse_ascii("\r\n".join([*lines, *end]).encode("latin-1"))


def faults(data):
    return [(condition.line, condition.kind) for condition in data.conditions]


@pytest.mark.parametrize("name", ["example_1", "example_2"])
def test_a_worked_example_reads_as_its_hand_typed_parse(name):
    """The expected values were typed by hand beside the example, not made by a program."""
    expected = json.loads((EXAMPLES / f"{name}.json").read_text())
    assert parse_ascii((EXAMPLES / f"{name}.asc").read_bytes()).as_json() == expected


@pytest.mark.parametrize("spelling", ["1<1@100", "1/1/100", "1 1 100", "1,;1 = 100", "1>\t1<100"])
def test_delimiters_are_interchangeable_and_a_run_counts_as_one(spelling):
    """Delimiters: from memory, high (";" medium)."""
    (entry,) = parse(f"PATCH 1 {spelling}").patch
    assert (entry.channel, entry.dimmer, entry.level) == ("1", "1", "100")


@pytest.mark.parametrize("spelling", ["CHAN 1@50 2@H80", "chan 1/50,2/H80", "  Chan\t1 50 2 H80"])
def test_levels_read_the_same_however_they_are_spelled(spelling):
    """Delimiters and case: from memory, high."""
    assert parse("CUE 1", spelling).cues[0].levels == {"1": "50", "2": "H80"}


def test_a_comment_may_follow_data():
    """Comment: "!" read in use (community wiki sample); after data from memory, high."""
    data = parse("! alone", "CUE 1 ! the first", "CHAN 1@50 ! 2@60", "UP 3 ! quick")
    assert data.cues[0].levels == {"1": "50"}
    assert data.cues[0].up == AsciiTime(Decimal(3))
    assert faults(data) == []


def test_text_keeps_its_case_and_its_delimiters():
    """Text argument: from memory, high."""
    assert parse("CUE 1", "text  Storm, then <Quiet>").cues[0].text == "Storm, then <Quiet>"


@pytest.mark.parametrize("end", [b"\r", b"\n", b"\r\n"])
def test_every_line_end_is_taken(end):
    """Line end: from memory, medium."""
    data = parse_ascii(end.join([b"CUE 1", b"CHAN 1@50", b"ENDDATA", b""]))
    assert (data.cues[0].levels, faults(data)) == ({"1": "50"}, [])


def test_a_line_of_80_characters_is_good_and_one_of_81_is_told():
    """Line length: read (community wiki page on the standard)."""
    eighty = "TEXT " + "x" * 75
    assert faults(parse("CUE 1", eighty)) == []
    assert faults(parse("CUE 1", eighty + "x")) == [(2, "line too long")]


def test_a_line_that_is_too_long_is_read_all_the_same():
    line = "CHAN " + " ".join(f"{channel}@50" for channel in range(1, 30))
    data = parse("CUE 1", line)
    assert (len(data.cues[0].levels), faults(data)) == (29, [(2, "line too long")])


def test_characters_beyond_ascii_are_told():
    """Characters: printable 7-bit ASCII and tab, from memory, medium."""
    data = parse("CUE 1", "TEXT Abend, schön")
    assert (data.cues[0].text, faults(data)) == ("Abend, schön", [(2, "character")])


def test_a_control_character_is_told():
    assert faults(parse("CUE 1", "TEXT a\x1b[2Jb")) == [(2, "character")]


@pytest.mark.parametrize(
    "percent, byte",
    list(
        zip(
            (0, 1, 10, 25, 33, 50, 66, 75, 90, 99, 100),
            ("00", "03", "1A", "40", "54", "80", "A8", "BF", "E6", "FC", "FF"),
            strict=True,
        )
    ),
)
def test_a_percent_is_the_byte_that_the_check_values_give(percent, byte):
    """Levels 0 to 100 and H00 to HFF: from memory, high; the pairs are plain arithmetic,
    byte = floor(percent * 255 / 100 + 0.5)."""
    steps, scale = level_steps(f"H{byte}")
    assert scale == 255
    assert steps == (percent * 255 * 2 + 100) // 200
    assert level_steps(str(percent)) == (percent, 100)


def test_a_byte_is_a_percent_of_six_places():
    assert level_percent("H80") == Decimal("50.196078")
    assert level_percent("HFF") == 100


@pytest.mark.parametrize("level", ["101", "-1", "50.5", "H8", "HGG", "H100", "FF", "full", "٥"])
def test_a_bad_level_is_told_and_the_others_on_its_line_are_read(level):
    """Condition reporting: heading read; what it asks for from memory, medium."""
    data = parse_ascii(f"CUE 1\nCHAN 1@50 2@{level} 3@60\nENDDATA".encode())
    assert data.cues[0].levels == {"1": "50", "3": "60"}
    assert (2, "bad level") in faults(data)


@pytest.mark.parametrize("channel", ["0", "x", "1.5", "-3"])
def test_a_bad_channel_number_is_told_and_the_others_are_read(channel):
    data = parse("CUE 1", f"CHAN {channel}@50 3@60")
    assert (data.cues[0].levels, faults(data)) == ({"3": "60"}, [(2, "bad number")])


def test_a_channel_without_a_level_is_told():
    data = parse("CUE 1", "CHAN 1@50 2")
    assert (data.cues[0].levels, faults(data)) == ({"1": "50"}, [(2, "value missing")])


def test_a_channel_given_twice_is_told_and_the_later_level_stands():
    data = parse("CUE 1", "CHAN 1@50 1@60", "CHAN 1@70")
    assert data.cues[0].levels == {"1": "70"}
    assert faults(data) == [(2, "given twice"), (3, "given twice")]


@pytest.mark.parametrize(
    "written, seconds",
    [("5", "5"), ("3.5", "3.5"), ("0", "0"), (".5", ".5"), ("1:10", "70"), ("2:05.5", "125.5")],
)
def test_a_time_is_seconds_or_minutes_and_seconds(written, seconds):
    """Time s, s.t or m:ss[.t]: from memory, high."""
    assert parse("CUE 1", f"UP {written}").cues[0].up == AsciiTime(Decimal(seconds))


@pytest.mark.parametrize("written", ["1:75", "x", "-1", "1:2:3", "5s", ":", "."])
def test_a_bad_time_is_told_and_not_kept(written):
    data = parse("CUE 1", f"DOWN {written}")
    assert (data.cues[0].down, faults(data)) == (None, [(2, "bad time")])


def test_a_fade_may_carry_a_wait():
    """UP and DOWN take a time and a wait: from memory, high; their order medium."""
    assert parse("CUE 1", "UP 20 2").cues[0].up == AsciiTime(Decimal(20), Decimal(2))


def test_a_cue_number_keeps_the_text_it_was_written_in():
    """Cue number: from memory, high."""
    assert [cue.number for cue in parse("CUE 2.50", "CUE 10").cues] == ["2.50", "10"]


def test_a_bad_cue_number_opens_nothing_and_what_belongs_to_it_is_passed_over():
    data = parse("CUE 1", "CHAN 1@50", "CUE x", "CHAN 1@60", "CUE 2")
    assert [(cue.number, cue.levels) for cue in data.cues] == [("1", {"1": "50"}), ("2", {})]
    assert faults(data) == [(3, "bad number"), (4, "skipped")]


def test_the_same_cue_twice_is_told():
    assert faults(parse("CUE 1", "CUE 01.0")) == [(2, "given twice")]


def test_the_same_number_on_another_page_is_another_cue():
    """Page defaults to 1: from memory, medium."""
    assert faults(parse("CUE 1", "CUE 1 2", "GROUP 1", "SUB 1")) == []
    assert faults(parse("CUE 1", "CUE 1 1")) == [(2, "given twice")]


def test_an_unknown_keyword_closes_the_item_so_that_nothing_lands_in_the_wrong_cue():
    """Unknown keyword: ignore, tell, go on: heading read, content from memory, medium."""
    data = parse("CUE 1", "CHAN 1@50", "SCROLLER 4", "CHAN 2@60", "TEXT lost", "CUE 2", "CHAN 3@70")
    assert [cue.levels for cue in data.cues] == [{"1": "50"}, {"3": "70"}]
    assert data.cues[0].text is None
    assert faults(data) == [(3, "unknown keyword"), (4, "skipped"), (5, "skipped")]


@pytest.mark.parametrize("keyword", sorted(k for k, v in KEYWORDS.items() if v.kind == "secondary"))
def test_a_secondary_keyword_outside_an_item_is_told(keyword):
    """Keyword classes: read (table of contents of the standard)."""
    kind = "part outside a cue" if keyword == "PART" else "outside an item"
    assert faults(parse(f"{keyword} 1 1")) == [(1, kind)]


def test_a_part_outside_a_cue_is_told_and_its_levels_land_nowhere():
    data = parse("GROUP 1", "CHAN 1@100", "PART 2", "CHAN 2@50", "CUE 1")
    assert data.groups[0].levels == {"1": "100"}
    assert faults(data) == [(3, "part outside a cue"), (4, "skipped")]


def test_a_bad_part_number_keeps_its_levels_out_of_the_cue():
    data = parse("CUE 1", "PART x", "CHAN 1@50", "PART 2", "CHAN 2@60")
    assert (data.cues[0].levels, data.cues[0].parts["2"].levels) == ({}, {"2": "60"})
    assert faults(data) == [(2, "bad number"), (3, "skipped")]


def test_follow_and_link_belong_to_cues_alone():
    data = parse("SUB 1", "FOLLOWON 3", "LINK 4")
    assert faults(data) == [(2, "outside an item"), (3, "outside an item")]


def test_lines_of_a_maker_are_kept_word_for_word():
    """ "$" lines: from memory, high; "$" primary and "$$" secondary: medium."""
    data = parse(
        "CUE 1", "$$Colour 4, 5 ! not a comment", "$Own 1", "CHAN 1@50", "$$Own 2", "CUE 2"
    )
    assert [line.text for line in data.cues[0].verbatim] == ["$$Colour 4, 5 ! not a comment"]
    assert [(line.line, line.text) for line in data.verbatim] == [
        (3, "$Own 1"),
        (4, "CHAN 1@50"),
        (5, "$$Own 2"),
    ]
    assert (data.cues[0].levels, faults(data)) == ({}, [])


def test_what_follows_the_end_mark_is_passed_over():
    """ENDDATA: from memory, high."""
    data = parse("CUE 1", end=("ENDDATA", "CUE 2", "NONSENSE"))
    assert ([cue.number for cue in data.cues], data.end_seen, faults(data)) == (["1"], True, [])


def test_a_file_without_an_end_mark_is_told():
    data = parse("CUE 1", "CHAN 1@50", end=())
    assert (data.end_seen, faults(data)) == (False, [(2, "no end")])


def test_another_version_of_the_language_is_told():
    assert faults(parse("IDENT 4:0")) == [(1, "other version")]


@pytest.mark.parametrize("line", ["PATCH 1", "PATCH 1 1<1", "PATCH", "CLEAR", "SET", "CUE"])
def test_a_keyword_that_lacks_values_is_told(line):
    assert (1, "value missing") in faults(parse(line))


def test_a_bad_triple_of_the_patch_does_not_take_the_others_along():
    """PATCH: keyword from memory, high; order of its values medium."""
    data = parse("PATCH 1 1<1@100 x<2@100 3<3@999 4<0@50 5<5@H10")
    assert [entry.channel for entry in data.patch] == ["1", "5"]
    assert faults(data) == [(1, "bad number"), (1, "bad level"), (1, "bad number")]


@pytest.mark.parametrize("data", [b"", b"\0" * 100, bytes(range(256)) * 4, b"\xff\xfe" * 50])
def test_any_bytes_are_read_without_an_exception(data):
    assert parse_ascii(data).end_seen is False
