"""Another format's copy of a show, told from a show that changed its format."""

from datetime import UTC, datetime
from pathlib import Path

import pytest
from msgspec.structs import replace

from showvault.files.reading import FileIdentity, SettledFile
from showvault.flows.formats_beside import say_another_format
from showvault.flows.incoming import IncomingFile, read_incoming
from showvault.interchange.registry import choose_reader
from showvault.vault.times import format_time
from showvault.vault.versions import Version, VersionFile
from tests.flows.rooms import a_save

PLOT = b"IDENT 3:0\r\nCUE 1\r\nCHAN 1@50\r\nENDDATA\r\n"
NEWEST = Version(
    number=1,
    time=format_time(datetime(2026, 11, 24, tzinfo=UTC)),
    reader="neutral/1",
    files=(
        VersionFile(
            path="/shows/evening.json", name="evening.json", size=1, sha256="0" * 64, role="show"
        ),
    ),
)


def incoming(data: bytes, name: str) -> IncomingFile:
    identity = FileIdentity(0, 0, len(data), 0, 0)
    return read_incoming(SettledFile(Path("/shows") / name, data, identity), choose_reader)


@pytest.mark.parametrize(
    ("one", "newest", "there", "said"),
    [
        (incoming(PLOT, "plot.asc"), NEWEST, True, True),
        (incoming(PLOT, "plot.asc"), NEWEST, False, False),
        (incoming(a_save(50), "other.json"), NEWEST, True, False),
        (incoming(b"closed", "evening.desk"), NEWEST, True, False),
        (incoming(PLOT, "plot.asc"), replace(NEWEST, reader=""), True, False),
        (incoming(PLOT, "plot.asc"), replace(NEWEST, files=()), True, False),
    ],
    ids=["beside", "in its place", "same format", "no show", "nobody knows how", "no show before"],
)
def test_only_a_show_in_another_format_than_the_one_beside_it_is_none(
    one: IncomingFile, newest: Version, there: bool, said: bool
) -> None:
    told = say_another_format(one, newest, lambda file: there)
    assert bool(told) is said
    if said:
        assert told.startswith("plot.asc is kept as it is and not described: the show here is ")
        assert "take evening.json out of the folder" in told
