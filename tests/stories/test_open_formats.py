"""A desk that writes no neutral show: its own file and an ASCII export are all there is."""

import sys

import pytest

from tests.interchange.rigs import packed

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="stops by a signal")


def plot(level):
    """Return an export as the desk writes it, with channel 2 of cue 2 at a level."""
    return (
        "IDENT 3:0\r\nCLEAR ALL\r\nPATCH 1 1<1@100 2<2@100\r\n"
        "CUE 1\r\nTEXT Preset\r\nUP 5\r\nCHAN 1@50\r\n"
        f"CUE 2\r\nTEXT Storm\r\nUP 3\r\nCHAN 1@50 2@{level}\r\nENDDATA\r\n"
    ).encode()


def test_an_export_and_a_desk_file_are_kept_compared_restored_and_checked(desk):
    with desk.watching() as watcher:
        desk.save("night.asc", plot(30))
        first = watcher.wait_for("kept")["number"]
        desk.save("night.desk", b"\x89DESK\x01" * 400)
        watcher.wait_for("kept")
        half = plot(75)[:-40]
        desk.save("night.asc", half)
        aside = watcher.wait_for("set_aside")
        assert desk.restored_file(str(aside["number"]), "night.asc") == half
        desk.save("night.asc", plot(75))
        last = watcher.wait_for("kept")["number"]
        desk.save("night.desk", b"\x89DESK\x02" * 400)
        watcher.wait_for("kept")
    compared = desk.do("compare", str(first), str(last)).out
    assert "cue 2" in compared and "30" in compared and "75" in compared
    assert desk.restored_file(str(first), "night.asc") == plot(30)
    assert desk.restored_file("latest", "night.desk") == b"\x89DESK\x02" * 400
    assert desk.run("check", str(last), "--vault", desk.vault).code == 0
    assert desk.versions()[0]["good"] is True


def test_a_version_names_the_reader_that_made_its_show(desk):
    desk.snapshot("night.asc", plot(30))
    assert desk.versions()[0]["reader"] == "ascii/1"


@pytest.mark.parametrize(
    "name, data",
    [
        ("bad.mvr", packed({"other.xml": b"<x/>"})),
        ("bad.csv", b"Alpha;Beta\n1;2\n"),
        ("bad.xlsx", packed({"other.xml": b"<x/>"})),
    ],
)
def test_a_file_that_its_reader_cannot_use_is_kept_all_the_same(desk, name, data):
    number = desk.snapshot(name, data)
    assert desk.restored_file(str(number), name) == data
