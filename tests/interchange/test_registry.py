"""Which reader takes which file, and what a reader of another package can do wrong."""

from importlib.metadata import EntryPoint
from typing import ClassVar

import pytest

from showvault.interchange.guests import ReaderFailedError
from showvault.interchange.reader import ReadResult, WriteResult
from showvault.interchange.registry import NoWriterError, build_registry, choose_reader
from showvault.show.reading import Wholeness

SHOW = b'{"format": "neutral-show", "format_version": 1}'


class PixelReader:
    """A reader of another package: for files that begin with PIX."""

    name = "pixel"
    version = "3"
    role = "source"
    extensions = (".pix",)
    options: ClassVar = {}

    def sniff(self, name, head):
        return head.startswith(b"PIX")

    def judge(self, data):
        return Wholeness("whole" if data.endswith(b"END") else "broken")

    def read(self, data, options):
        return ReadResult({"format": "neutral-show", "format_version": 1, "title": "Pixels"})

    def write(self, show, options):
        return WriteResult(b"PIX END")


class BrokenReader(PixelReader):
    name = "broken"

    def sniff(self, name, head):
        raise RuntimeError("boom\x1b[2J\n of the reader")

    judge = read = write = sniff


class FailingLater(PixelReader):
    """Takes its files, and then fails."""

    name = "later"

    def judge(self, data):
        raise RuntimeError("no judgement")

    def read(self, data, options):
        raise ZeroDivisionError

    def write(self, show, options):
        return "no result"


class HalfReader:
    name = "half"


class Impostor(PixelReader):
    name = "neutral"

    def sniff(self, name, head):
        return True


class Loadable(EntryPoint):
    """An entry point of this very module, however the test run has named it."""

    def load(self):
        return globals()[self.value.partition(":")[2]]


def registry_with(*classes, told=None):
    found = [Loadable(cls.__name__, f"here:{cls.__name__}", "showvault.readers") for cls in classes]
    return build_registry(found, (told if told is not None else []).append)


def test_a_show_is_known_by_its_mark():
    assert choose_reader("tonight.json", SHOW).name == "neutral"


def test_a_show_is_known_under_any_name():
    assert choose_reader("tonight.bak", SHOW).name == "neutral"


def test_a_json_show_is_known_by_a_mark_at_its_very_end():
    show = b'{"notes": "' + b"x" * 10_000 + b'", "format": "neutral-show"}'
    assert choose_reader("tonight.json", show).name == "neutral"


def test_a_mark_further_down_makes_no_show():
    data = b'{"shows": [{"format": "neutral-show"}]}'
    assert choose_reader("shows.json", data).name == "json"


def test_a_show_cut_short_is_still_a_show():
    reader = choose_reader("tonight.json", b'{"title": "x", "format": "neutral-show", "cue_li')
    assert (reader.name, reader.judge(b'{"title": "x", "for').state) == ("neutral", "broken")


def test_other_json_stays_opaque_and_proves_itself():
    reader = choose_reader("settings.json", b'{"a": 1}')
    assert (reader.name, reader.role) == ("json", "opaque")
    assert reader.judge(b'{"a": 1}').state == "whole"
    assert reader.judge(b'{"a": 1').state == "broken"
    assert reader.read(b'{"a": 1}', {}).show is None


def test_any_other_file_is_taken_by_the_opaque_reader():
    reader = choose_reader("tonight.desk", b"\x89\x01\x02")
    assert (reader.name, reader.role, reader.judge(b"\x89").state) == (
        "opaque",
        "opaque",
        "unproven",
    )


def test_a_reader_of_another_package_takes_its_files():
    registry = registry_with(PixelReader)
    assert registry.choose_reader("a.pix", b"PIX 1").name == "pixel"
    assert registry.choose_writer("a.PIX").name == "pixel"


def test_a_reader_that_fails_is_told_once_and_passed_over():
    told = []
    registry = registry_with(BrokenReader, told=told)
    for _ in range(3):
        assert registry.choose_reader("a.pix", b"PIX 1").name == "opaque"
    assert told == [
        "the reader 'broken' fails and is passed over: RuntimeError: boom?[2J of the reader"
    ]


def test_a_reader_that_cannot_judge_proves_nothing():
    assert registry_with(FailingLater).choose_reader("a", b"PIX").judge(b"PIX").state == "unproven"


def test_a_reading_that_fails_is_an_error_for_people():
    reader = registry_with(FailingLater).choose_reader("a", b"PIX")
    with pytest.raises(ReaderFailedError, match="'later' failed: ZeroDivisionError"):
        reader.read(b"PIX", {})


def test_a_writing_without_a_result_is_an_error_for_people():
    writer = registry_with(FailingLater).choose_writer("a.pix")
    with pytest.raises(ReaderFailedError, match="no WriteResult"):
        writer.write({}, {})


def test_what_is_no_reader_is_left_out_and_told():
    told = []
    registry_with(HalfReader, told=told)
    assert len(told) == 1 and "HalfReader" in told[0] and "lacks parts" in told[0]


def test_an_entry_point_that_leads_nowhere_is_left_out_and_told():
    told = []
    found = [EntryPoint("lost", "no_such_package_here:Reader", "showvault.readers")]
    registry = build_registry(found, told.append)
    assert registry.choose_reader("a.json", SHOW).name == "neutral"
    assert "'lost' cannot be loaded" in told[0]


def test_nobody_takes_over_the_neutral_show():
    told = []
    registry = registry_with(Impostor, told=told)
    assert registry.choose_reader("a.bin", b"1").name == "opaque"
    assert "another one has its name" in told[0]


def test_a_name_that_nobody_writes_is_refused_with_the_endings_there_are():
    with pytest.raises(NoWriterError) as refused:
        registry_with().choose_writer("tonight.desk")
    assert ".json" in refused.value.hint
