"""ASCII cue data as a neutral show and back.

Rules of the standard and their grades stand in test_ascii_parsing; what a channel, a page or a part
becomes in a show is our own choice.
"""

from decimal import Decimal
from pathlib import Path

import pytest

from showvault.interchange.ascii_cues import AsciiReader
from showvault.interchange.ascii_rules import RULES
from showvault.interchange.ascii_to_show import DIMMER
from showvault.interchange.reader import OptionError
from showvault.interchange.registry import choose_reader
from showvault.show.reading import find_faults
from showvault.show.writing import write_show

EXAMPLES = sorted((Path(__file__).parent / "ascii").glob("*.asc"))


def read(*lines, **options):
    return AsciiReader().read("\r\n".join([*lines, "ENDDATA"]).encode(), options)


def write(show, **options):
    base = {"format": "neutral-show", "format_version": 1}
    return AsciiReader().write(base | show, options)


def cue_1(result):
    return result.show["cue_lists"]["1"]["cues"]["1"]


def losses(result):
    return {loss.what: loss.count for loss in result.losses}


DIMMERS = {"fixture_types": {"dimmer": dict(DIMMER)}}


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_a_worked_example_makes_a_show_that_is_understood_and_comes_back(path):
    reader = AsciiReader()
    first = reader.read(path.read_bytes(), {})
    assert (find_faults(write_show(first.show)), first.losses) == ([], ())
    written = reader.write(first.show, {})
    again = reader.read(written.data, {})
    assert (write_show(again.show), written.losses) == (write_show(first.show), ())


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_an_export_is_known_by_its_ident_under_any_name(path):
    assert choose_reader("export.txt", path.read_bytes()).name == "ascii"


def test_an_export_without_ident_is_known_by_its_name_and_keywords():
    assert choose_reader("a.ASC", b"! plot\r\nCUE 1\r\n").name == "ascii"
    assert choose_reader("key.asc", b"-----BEGIN BLOCK-----\n").name == "opaque"
    assert choose_reader("notes.txt", b"Cue 1 is late\n").name == "opaque"


def test_the_end_mark_proves_a_file_whole():
    reader = AsciiReader()
    assert reader.judge(b"CUE 1\r\nenddata\r\nrest").state == "whole"
    assert reader.judge(b"ENDDATA").state == "whole"
    assert reader.judge(b"CUE 1\r\nTEXT ENDDATA\r\n").state == "broken"
    assert reader.judge(b"CUE 1\r\nENDDAT").state == "broken"
    assert reader.judge(b"").state == "broken"


def test_a_dimmer_is_an_address_counted_through_universes():
    """Common practice, no source: dimmer 513 is universe 2 address 1."""
    show = read("PATCH 1 7<512@100 7<513@H80").show
    assert show["patch"]["7"]["addresses"] == [
        {"universe": 1, "address": 512},
        {"universe": 2, "address": 1, "scale": Decimal("50.196078")},
    ]


def test_a_channel_without_a_dimmer_is_a_fixture_that_is_not_patched():
    assert "addresses" not in read("CUE 1", "CHAN 3@50").show["patch"]["3"]


def test_a_cue_is_a_whole_picture_unless_moves_are_chosen_and_both_are_told():
    pictures = read("CUE 1", "CHAN 1@50")
    moves = read("CUE 1", "CHAN 1@50", cues="moves")
    assert pictures.show["cue_lists"]["1"]["tracking"] is False
    assert moves.show["cue_lists"]["1"]["tracking"] is True
    assert "whole picture" in pictures.notes[0] and "moves it makes" in moves.notes[0]


def test_an_option_nobody_knows_is_refused():
    with pytest.raises(OptionError):
        read("CUE 1", tracks="yes")
    with pytest.raises(OptionError, match="cues cannot be 'both'"):
        read("CUE 1", cues="both")


def test_times_follow_and_link_of_a_cue_are_carried():
    """FOLLOWON counts from the start of the cue: from memory, medium."""
    cue = cue_1(read("CUE 1", "TEXT Storm", "UP 3.5 1", "DOWN 1:10", "FOLLOWON 12", "LINK 9.50"))
    assert cue == {
        "label": "Storm",
        "fade_in": Decimal("3.5"),
        "delay_in": 1,
        "fade_out": 70,
        "follow": {"from": "go", "seconds": 12},
        "link": {"cue": "9.5"},
    }


def test_part_1_is_the_cue_itself():
    cue = cue_1(read("CUE 1", "PART 1", "UP 2", "CHAN 1@50", "PART 2", "UP 9", "CHAN 2@60"))
    assert cue == {
        "fade_in": 2,
        "levels": {"1": {"Dimmer": 50}},
        "parts": {"2": {"fade_in": 9, "levels": {"2": {"Dimmer": 60}}}},
    }


def test_a_page_of_cues_is_a_cue_list():
    lists = read("CUE 1", "CUE 1 2").show["cue_lists"]
    assert sorted(lists) == ["1", "2"]


def test_conditions_become_losses_with_their_line():
    result = read("CUE 1", "CHAN 1@50 2@999", "CHAN 3@999")
    assert [(loss.what, loss.where, loss.count) for loss in result.losses] == [
        ("bad level", "line 2: 2@999", 2)
    ]


@pytest.mark.parametrize(
    "lines, rule",
    [
        (["CHAN 1@50"], "condition form"),
        (["PATCH 1 1<1@100"], "dimmer"),
        (["CUE 1 2"], "page is list"),
        (["$$$Own 1"], "maker basic"),
    ],
)
def test_what_rests_on_a_rule_of_low_confidence_says_so(lines, rule):
    """Grades of ascii_rules, which are those of what was known when it was written; the form in
    which conditions are told is a guess: of that chapter only headings were read."""
    assert RULES[rule].grade == "low"
    (note,) = [note for note in read(*lines).notes if "low confidence" in note]
    assert RULES[rule].text in note


def test_what_rests_on_surer_rules_says_nothing_of_confidence():
    notes = read("CUE 1", "TEXT Storm", "UP 3", "CHAN 1@50").notes
    assert not any("confidence" in note for note in notes)


def test_a_tracking_list_is_written_as_the_pictures_it_makes():
    show = DIMMERS | {
        "patch": {n: {"type": "dimmer", "mode": "8 bit"} for n in ("1", "2")},
        "cue_lists": {
            "1": {
                "cues": {
                    "1": {"levels": {"1": {"Dimmer": 50}, "2": {"Dimmer": 20}}},
                    "2": {"levels": {"2": {"Dimmer": 0}}},
                    "3": {"levels": {"2": {"Dimmer": 70}}},
                    "4": {"levels": {"1": {"Dimmer": {"release": True}}}},
                }
            }
        },
    }
    written = write(show)
    cues = AsciiReader().read(written.data, {}).show["cue_lists"]["1"]["cues"]
    looks = [{f: v["Dimmer"] for f, v in cues[n]["levels"].items()} for n in "1234"]
    assert looks == [{"1": 50, "2": 20}, {"2": 0, "1": 50}, {"2": 70, "1": 50}, {"1": 0, "2": 70}]
    assert losses(written) == {"tracking: the cues are written as whole pictures": 1}


def test_moves_are_written_as_they_are_stored_when_moves_are_chosen():
    show = DIMMERS | {
        "patch": {"1": {"type": "dimmer", "mode": "8 bit"}},
        "cue_lists": {
            "1": {"tracking": True, "cues": {"1": {"levels": {"1": {"Dimmer": 50}}}, "2": {}}}
        },
    }
    written = write(show, cues="moves")
    assert written.losses == ()
    assert (
        AsciiReader().read(written.data, {"cues": "moves"}).show["cue_lists"] == (show["cue_lists"])
    )


def test_a_preset_reference_is_written_as_its_level_and_told():
    show = DIMMERS | {
        "patch": {"1": {"type": "dimmer", "mode": "8 bit"}},
        "presets": {"Dimmer": {"1": {"types": {"dimmer": {"Dimmer": 30}}}}},
        "cue_lists": {
            "1": {
                "tracking": False,
                "cues": {"1": {"levels": {"1": {"Dimmer": {"preset": "Dimmer 1"}}}}},
            }
        },
    }
    written = write(show)
    assert b"CHAN 1@30" in written.data
    assert losses(written) == {
        "references to presets, written as the levels they stand for": 1,
        "presets": 1,
    }


def test_everything_that_intensities_cannot_say_is_counted():
    show = DIMMERS | {
        "title": "Harbour",
        "patch": {"1": {"type": "dimmer", "mode": "8 bit", "name": "Bar", "position": "FOH"}},
        "cue_lists": {
            "1": {
                "tracking": False,
                "name": "Main",
                "cues": {
                    "1": {
                        "label": "Go!",
                        "scene": "2",
                        "follow": {"from": "end", "seconds": 2},
                        "fade_in": 3,
                        "delay_in": 1,
                        "link": {"list": "2", "cue": "1"},
                        "levels": {
                            "1": {"Dimmer": {"level": 10, "fade": 2}, "Pan": 5},
                            "1.2": {"Dimmer": 5},
                        },
                    }
                },
            }
        },
        "playbacks": {"1.1": {"cue_list": "1"}, "1.2": {"cue_list": "1"}},
    }
    written = write(show)
    assert losses(written) == {
        "title": 1,
        "playbacks": 2,
        "name of fixtures": 1,
        "position of fixtures": 1,
        "name of cue lists": 1,
        "scene of cues": 1,
        "characters of labels that ASCII has no place for": 1,
        "follows that count from the end: now from the go, fades added": 1,
        "links to another list": 1,
        "times of single levels": 1,
        "Pan levels": 1,
        "intensities of single cells": 1,
    }
    assert b"FOLLOWON 6\r\n" in written.data


def test_levels_can_be_written_in_one_notation_and_what_moves_is_told():
    show = DIMMERS | {
        "patch": {"1": {"type": "dimmer", "mode": "8 bit"}},
        "submasters": {"1": {"levels": {"1": {"Dimmer": Decimal("62.5")}}}},
    }
    assert b"CHAN 1@63" in write(show, levels="percent").data
    assert b"CHAN 1@H9F" in write(show, levels="hex").data
    assert losses(write(show)) == {"levels moved to the nearest step of the notation": 1}


def test_no_line_is_longer_than_80_characters_and_every_one_ends_in_cr_lf():
    """Line length: read (community wiki page); CR LF: from memory, medium."""
    levels = {str(n): {"Dimmer": 100} for n in range(1000, 1200)}
    written = write(
        {
            "cue_lists": {
                "1": {"tracking": False, "cues": {"1": {"label": "x" * 200, "levels": levels}}}
            }
        }
    )
    lines = written.data.split(b"\r\n")
    assert max(map(len, lines)) <= 80
    assert b"\n" not in b"".join(lines)
    assert losses(written)["ends of labels longer than 75 characters"] == 1


@pytest.mark.parametrize(
    "line", ["CUE 99", "$a\r\nCUE 99", "$a\nCHAN 1@0", "ENDDATA", "! x", "$b\x1b[2J", "x" * 90]
)
def test_a_line_kept_aside_cannot_pass_for_an_instruction(line):
    show = {
        "extra": {"ascii": {"verbatim": [line]}},
        "cue_lists": {
            "1": {"tracking": False, "cues": {"1": {"extra": {"ascii": {"verbatim": [line]}}}}}
        },
    }
    written = write(show)
    assert b"99" not in written.data and b"\x1b" not in written.data
    assert list(AsciiReader().read(written.data, {}).show["cue_lists"]["1"]["cues"]) == ["1"]
    assert losses(written)["lines of one maker that cannot stand where they belong"] == 2


def test_a_label_that_a_comment_may_have_cut_is_told():
    """Comment after data: from memory, high; whether it may cut a text is not known."""
    result = read("CUE 1", "TEXT Go! Now")
    assert cue_1(result)["label"] == "Go"
    assert any("begins a comment: 1" in note for note in result.notes)
