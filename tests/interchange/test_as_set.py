"""Readers that read as somebody set them for one vault."""

import pytest

from showvault.interchange.as_set import ReaderAsSet, choose_as_set, with_option
from showvault.interchange.ascii_cues import AsciiReader
from showvault.interchange.reader import OptionError, Reader
from showvault.interchange.registry import build_registry

REGISTRY = build_registry((), print)
PLOT = b"IDENT 3:0\r\nCUE 1\r\nCHAN 1@50\r\nENDDATA\r\n"
MOVES = ReaderAsSet(AsciiReader(), {"cues": "moves"})


def test_a_reader_reads_as_it_was_set_and_says_so():
    result = MOVES.read(PLOT, {})
    assert result.show["cue_lists"]["1"]["tracking"] is True
    assert "read with cues=moves, as the settings of this vault say" in result.notes


def test_what_is_given_with_the_reading_itself_counts_before_that():
    assert MOVES.read(PLOT, {"cues": "pictures"}).show["cue_lists"]["1"]["tracking"] is False


def test_what_a_reader_was_told_is_part_of_its_version():
    assert (MOVES.name, MOVES.version) == ("ascii", "1 cues=moves")
    assert isinstance(MOVES, Reader)
    assert MOVES.judge(PLOT).state == "whole" and MOVES.sniff("a.asc", PLOT)
    assert (MOVES.role, MOVES.extensions) == ("source", (".asc",))
    assert "cues" in MOVES.options


def test_only_the_reader_that_is_named_is_set():
    options = {"ascii": {"cues": "moves"}}
    choose = choose_as_set(REGISTRY.choose_reader, lambda: options)
    assert choose("a.asc", PLOT).version == "1 cues=moves"
    assert choose("a.csv", b"a,b").version == "1"
    options.clear()
    assert choose("a.asc", PLOT).version == "1"


def test_the_show_itself_is_read_by_nobodys_wish():
    choose = choose_as_set(REGISTRY.choose_reader, lambda: {"neutral": {"cues": "moves"}})
    assert choose("a.json", b'{"format": "neutral-show", "format_version": 1}').version == "1"


def test_an_option_is_added_changed_and_taken_back():
    once = with_option({}, "ascii.cues=moves", REGISTRY)
    assert once == {"ascii": {"cues": "moves"}}
    twice = with_option(once, "csv.delimiter = bar", REGISTRY)
    assert twice == {"ascii": {"cues": "moves"}, "csv": {"delimiter": "bar"}}
    assert with_option(twice, "ascii.cues=", REGISTRY) == {"csv": {"delimiter": "bar"}}
    assert once == {"ascii": {"cues": "moves"}}


@pytest.mark.parametrize(
    "text",
    [
        *("", "cues=moves", "ascii.cues", "ascii=moves", "ascii.=x", "ascii.speed=9", "desk.a=b"),
        *("neutral.cues=moves", "ascii.cues=both", "csv.table=all", "csv.delimiter=dot"),
        *("xlsx.table=all", "xlsx.columns=Ort=place", "mvr.modes=some", "csv.encoding=x"),
    ],
)
def test_what_no_reader_listens_to_is_refused_when_it_is_set(text):
    with pytest.raises(OptionError) as refused:
        with_option({}, text, REGISTRY)
    assert refused.value.hint
