"""The kit for other people's readers: our own keep its rules, and it catches who does not."""

from pathlib import Path
from typing import ClassVar

import pytest

from showvault.interchange.ascii_cues import AsciiReader
from showvault.interchange.kit import KitError, check_reader, check_writer
from showvault.interchange.reader import Loss, ReadResult, WriteResult
from showvault.interchange.rig import FixtureTypeReader, RigReader
from showvault.interchange.tables import CsvReader, XlsxReader
from showvault.show.reading import Wholeness
from tests.interchange.rigs import address, channel, fixture, fixture_type, rig

EXAMPLES = {p.name: p.read_bytes() for p in (Path(__file__).parent / "ascii").glob("*.asc")}
SWELL = fixture_type(channel("1,2", "Dimmer"), channel("3", "Pan"))
RIG = rig(fixture(1, address("33")), fixture(2), Swell=SWELL)
SHOW = {
    "format": "neutral-show",
    "format_version": 1,
    "groups": {"1": {"name": "Front", "fixtures": [1, 2]}},
}
WORKBOOK = XlsxReader().write(SHOW, {}).data


@pytest.mark.parametrize(
    "reader, examples",
    [
        (AsciiReader(), EXAMPLES),
        (RigReader(), {"stage.mvr": RIG}),
        (FixtureTypeReader(), {"swell.gdtf": SWELL}),
        (CsvReader(), {"patch.csv": "Channel;Ort;DMX\n1;Bühne;1/1\n".encode("cp1252")}),
        (XlsxReader(), {"groups.xlsx": WORKBOOK}),
    ],
    ids=lambda value: getattr(value, "name", ""),
)
def test_our_own_readers_keep_the_rules(reader, examples):
    check_reader(reader, examples)


@pytest.mark.parametrize(
    "writer, examples",
    [
        (AsciiReader(), EXAMPLES),
        (RigReader(), {"stage.mvr": RIG}),
        (XlsxReader(), {"groups.xlsx": WORKBOOK}),
    ],
    ids=lambda value: getattr(value, "name", ""),
)
def test_our_own_writers_keep_the_rules(writer, examples):
    check_writer(writer, examples)


class Good:
    """A reader that keeps every rule; each test below breaks one."""

    name = "good"
    version = "1"
    role = "source"
    extensions = (".good",)
    options: ClassVar = {}
    title = "Harbour"

    def sniff(self, name, head):
        return head.startswith(b"GOOD")

    def judge(self, data):
        return Wholeness("whole" if data.endswith(b"END") else "broken")

    def read(self, data, options):
        return ReadResult(
            {"format": "neutral-show", "format_version": 1, "title": self.title}, (), ()
        )

    def write(self, show, options):
        return WriteResult(b"GOOD END")


FILES = {"a.good": b"GOOD Harbour END"}


def test_a_good_reader_passes():
    check_reader(Good(), FILES)
    check_writer(Good(), FILES)


class TakesAll(Good):
    def sniff(self, name, head):
        return True


class Blind(Good):
    def sniff(self, name, head):
        return False


class Gloomy(Good):
    def judge(self, data):
        return Wholeness("broken")


class Faulty(Good):
    title = 5


class Moody(Good):
    def read(self, data, options):
        self.title += "!"
        return super().read(data, options)


class Fragile(Good):
    def read(self, data, options):
        if not data.endswith(b"END"):
            raise ValueError("no end")
        return super().read(data, options)


class Nervous(Good):
    def judge(self, data):
        return Wholeness("whole" if data[-1] == 68 else "broken")


class Mute(Good):
    def read(self, data, options):
        result = super().read(data, options)
        return ReadResult(result.show, (Loss(""),))


class Shouting(Good):
    name = "two words"


@pytest.mark.parametrize(
    "reader, rule",
    [
        (TakesAll(), "leaves the neutral show alone"),
        (Blind(), "knows its files"),
        (Gloomy(), "does not call a whole file broken"),
        (Faulty(), "keeps the rules of the neutral show"),
        (Moody(), "the same bytes give the same show"),
        (Fragile(), "raises ShowvaultError alone"),
        (Nervous(), "never raise"),
        (Mute(), "says what it is"),
        (Shouting(), "one word"),
        (object(), "every part"),
    ],
    ids=lambda value: type(value).__name__ if not isinstance(value, str) else "",
)
def test_a_reader_that_breaks_a_rule_is_caught(reader, rule):
    with pytest.raises(KitError, match=rule):
        check_reader(reader, FILES)


class Losing(Good):
    """Reads more than it writes, and says nothing."""

    def read(self, data, options):
        self.title = "Harbour" if b"Harbour" in data else "lost"
        return super().read(data, options)


class Restless(Good):
    count = 0

    def write(self, show, options):
        self.count += 1
        return WriteResult(b"GOOD %d END" % self.count)


@pytest.mark.parametrize(
    "writer, rule",
    [(Losing(), "told as a loss"), (Restless(), "the same show gives the same bytes")],
)
def test_a_writer_that_breaks_a_rule_is_caught(writer, rule):
    with pytest.raises(KitError, match=rule):
        check_writer(writer, FILES)
