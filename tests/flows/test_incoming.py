"""What a settled file is to the vault."""

from pathlib import Path

import pytest

from showvault.files.reading import read_settled
from showvault.flows.incoming import WORTH_A_REASON, read_incoming
from showvault.interchange.neutral import NeutralReader
from showvault.interchange.registry import choose_reader
from tests.flows.rooms import ReaderOfExports
from tests.interchange.rigs import fixture, packed, rig

PLOT = b"IDENT 3:0\r\nCUE 1\r\nCHAN 1@50\r\nENDDATA\r\n"


def incoming(tmp_path: Path, name: str, data: bytes, choose=choose_reader):
    path = tmp_path / name
    path.write_bytes(data)
    return read_incoming(read_settled(path), choose)


def test_an_export_with_levels_is_the_show(tmp_path: Path):
    one = incoming(tmp_path, "night.asc", PLOT)
    assert (one.role, one.reader) == ("source", "ascii/1")
    assert one.cut is not None


@pytest.mark.parametrize(
    "name, data",
    [
        ("stage.mvr", rig(fixture(1))),
        ("patch.csv", b"Channel,Position\n1,FOH\n"),
        ("cues.csv", b"Cue,Label\n1,Storm\n"),
    ],
)
def test_a_rig_or_a_cue_sheet_alone_is_no_show(tmp_path: Path, name, data):
    one = incoming(tmp_path, name, data)
    assert (one.role, one.reader, one.cut) == ("opaque", "", None)


def test_a_source_that_cannot_be_read_is_kept_as_it_is_and_says_why(tmp_path: Path):
    one = incoming(tmp_path, "stage.mvr", packed({"other.xml": b"<x/>"}))
    assert (one.role, one.cut) == ("opaque", None)
    assert "not readable as a show" in one.notes[0]


class Exploding(ReaderOfExports):
    """A reader that fails in a way that no reader should."""

    name = "exploding"

    def read(self, data, options):
        raise MemoryError("of the reader")


def test_whatever_a_reader_does_the_file_comes_out_fit_to_be_kept(tmp_path: Path):
    one = incoming(tmp_path, "night.asc", PLOT, lambda name, head: Exploding())
    assert one.role == "opaque" and one.file.data == PLOT
    assert "of the reader" in one.notes[0]


def test_a_show_whose_parts_cannot_be_told_apart_is_kept_as_it_is(tmp_path: Path):
    one = incoming(tmp_path, "show.json", b'[{"format": "neutral-show"}]', always_the_show)
    assert one.role == "opaque"
    assert "its parts cannot be told apart" in one.notes[0]


@pytest.mark.parametrize(
    "data, reason",
    [
        (b'\xef\xbb\xbf{"format": "neutral-show"}', "the file begins with a byte order mark"),
        ('{"format": "neutral-show"}'.encode("utf-16"), "the file is encoded in UTF-16"),
        (
            b'{"format": "neutral-show", "format_version": 1, "title": "\\ud800"}',
            "without lone surrogates",
        ),
        (b'{"format": "neutral-show", "extra": ' + b"[" * 9999 + b"]" * 9999 + b"}", "nested"),
    ],
)
def test_why_the_parts_of_a_show_cannot_be_told_apart_is_said(tmp_path: Path, data, reason):
    one = incoming(tmp_path, "show.json", data, always_the_show)
    assert one.role == "opaque"
    assert reason in one.notes[0]
    one.notes[0].encode("utf-8")


def always_the_show(name, head):
    return NeutralReader()


def test_a_large_file_that_cannot_be_told_apart_waits_for_no_reason(tmp_path: Path):
    data = b'[{"format": "neutral-show"}, "' + b"x" * WORTH_A_REASON + b'"]'
    one = incoming(tmp_path, "show.json", data, always_the_show)
    assert one.notes == (
        "kept as it is: its parts cannot be told apart (showvault check says why)",
    )


def test_a_file_that_ends_in_its_middle_has_no_reason_but_that(tmp_path: Path):
    one = incoming(tmp_path, "show.json", b'{"format": ', always_the_show)
    assert one.notes == ("kept as it is: its parts cannot be told apart",)
