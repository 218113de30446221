"""Every reader of a file, with files that are nearly right: see fuzzing.py for the law."""

import json
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from hypothesis import strategies as st
from hypothesis.strategies import SearchStrategy

from showvault.errors import ShowvaultError
from showvault.interchange.ascii_cues import AsciiReader
from showvault.interchange.registry import build_registry
from showvault.interchange.tables import CsvReader, XlsxReader
from showvault.show.reading import decode_show
from showvault.show.trees import Tree
from showvault.show.writing import write_show
from tests.builders import a_full_show, as_bytes
from tests.fuzz.fuzzing import fuzz, nothing_done_outside
from tests.fuzz.mutating import as_json, changed_fields, damaged, members_of, repacked
from tests.interchange.rigs import address, channel, fixture, fixture_type, rig

TEMPORARY = Path(tempfile.gettempdir()).resolve()
REGISTRY = build_registry((), lambda sentence: None)
FOLDER = Path(__file__).parents[1] / "interchange" / "ascii"
ASCII = [path.read_bytes() for path in sorted(FOLDER.glob("*.asc"))]
SHOWS = [a_full_show(), *(json.loads(write_show(AsciiReader().read(a, {}).show)) for a in ASCII)]
SWELL = fixture_type(channel("1,2", "Dimmer"), channel("3", "Pan"), channel("4", "Shutter1"))
RIG = rig(fixture(1, address("33")), fixture(2, address("1.7", 2)), Swell=SWELL)
CSV = [
    "Channel;Ort;DMX\n1;Bühne;1/1\n".encode("cp1252"),
    b'Cue,Label,Time,Follow\r\n1,House to half,3,\r\n1.5,"Storm, breaks",0/5,2.5\r\n',
    b"Fixture\tType\tMode\tUniverse\tAddress\n101\twash\t16 bit\t2\t1\n",
    "Group,Name,Fixtures\n1,Front,1-4\n".encode("utf-16"),
]
XLSX = [XlsxReader().write(show, {}).data for show in SHOWS]
XML_WORDS = (b'break="', b'Offset="1,2,3"', b"<Fixture/>", b"</DMXMode>", b"<!ENTITY a 'b'>")


def sample_of(name: str) -> list[bytes]:
    """Valid files of one kind."""
    samples: dict[str, list[bytes]] = {
        "evening.json": [as_bytes(a_full_show()), json.dumps(SHOWS[1], indent=2).encode()],
        "cues.asc": ASCII,
        "stage.mvr": [RIG],
        "swell.gdtf": [SWELL],
        "patch.csv": CSV,
        "patch.tsv": CSV[2:3],
        "groups.xlsx": XLSX,
    }
    return samples[name]


def read_as(name: str, data: bytes) -> None:
    """Read a file as everything here does that reads one."""
    with nothing_done_outside():
        reader = REGISTRY.choose_reader(name, data)
        reader.judge(data)
        result = reader.read(data, {})
    if result.show is not None:
        with nothing_done_outside(TEMPORARY):  # where a workbook is put together
            write_everywhere(result.show)


def write_everywhere(show: Tree) -> None:
    """What a reader makes is a show of the format, or says what is wrong; writers can take it."""
    written = write_show(show)
    decode_show(written)
    for writer in REGISTRY.writers:
        try:
            writer.write(show, {})
        except ShowvaultError as error:
            assert str(error)


NAMES = ["evening.json", "cues.asc", "stage.mvr", "swell.gdtf", "patch.csv", "groups.xlsx"]


@pytest.mark.parametrize("name", [*NAMES, "patch.tsv"])
def test_damaged_bytes_are_read_or_refused(name: str) -> None:
    fuzz(damaged(sample_of(name), XML_WORDS), lambda data: read_as(name, data), steady=25)


@pytest.mark.parametrize("name", ["stage.mvr", "swell.gdtf", "groups.xlsx"])
def test_archives_with_damaged_members_are_read_or_refused(name: str) -> None:
    fuzz(
        repacked(sample_of(name), lambda member, data: damaged_member(name, member, data)),
        lambda data: read_as(name, data),
        steady=25,
    )


def damaged_member(archive: str, member: str, data: bytes) -> SearchStrategy[bytes]:
    if member.endswith(".gdtf"):
        return repacked([data], lambda inner, text: damaged([text], XML_WORDS))
    everything: list[bytes] = [data, *members_of(sample_of(archive)[0]).values()]
    return damaged([data], XML_WORDS) if data else damaged(everything, XML_WORDS)


def test_shows_with_changed_fields_are_read_or_refused() -> None:
    fuzz(changed_fields(SHOWS), lambda tree: read_as("evening.json", as_json(tree)))


def test_every_file_of_a_stranger_is_given_to_some_reader() -> None:
    """By names that lie: each kind of file under the endings of the others."""
    every: Sequence[bytes] = [sample for name in NAMES for sample in sample_of(name)]
    cases = st.tuples(st.sampled_from([*NAMES, "x", "a.zip", ".json"]), damaged(every))
    fuzz(cases, lambda case: read_as(*case), steady=40)


def test_the_samples_themselves_are_read() -> None:
    """Else the tests above would only show how rubbish is refused."""
    for name in NAMES:
        for sample in sample_of(name):
            result: Any = REGISTRY.choose_reader(name, sample).read(sample, {})
            assert result.show is not None, name
    assert isinstance(REGISTRY.choose_reader("cues.asc", ASCII[0]), AsciiReader)
    assert isinstance(REGISTRY.choose_reader("patch.csv", CSV[0]), CsvReader)
