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


def test_a_vault_is_told_once_how_its_exports_are_read(desk):
    desk.snapshot("night.asc", plot(30))
    said = desk.do("settings", "--read", "ascii.cues=moves").out
    assert "ascii files are read with cues=moves" in said
    assert "ascii files are read with cues=moves" in desk.do("settings").out
    kept = desk.ask("snapshot", desk.save("night.asc", plot(40)))["version"]
    assert kept["reader"] == "ascii/1 cues=moves"
    assert "read with cues=moves, as the settings of this vault say" in kept["note"]
    assert "the version before by ascii/1" in kept["note"]
    wrong = desk.run("settings", "--read", "ascii.cues=both", "--vault", desk.vault)
    assert wrong.code == 2 and "pictures, moves" in wrong.err
    desk.do("settings", "--read", "ascii.cues=")
    assert "cues=moves" not in desk.do("settings").out


def test_a_running_watcher_takes_up_how_exports_are_read(desk):
    with desk.watching() as watcher:
        desk.save("night.asc", plot(30))
        watcher.wait_for("kept")
        desk.do("settings", "--read", "ascii.cues=moves")
        desk.save("night.asc", plot(40))
        kept = watcher.wait_for("kept")
    assert any("read with cues=moves" in note for note in kept["notes"])


def test_versions_that_were_read_otherwise_are_read_again_when_they_are_compared(desk):
    first = desk.snapshot("night.asc", plot(30))
    desk.do("settings", "--read", "ascii.cues=moves")
    last = desk.snapshot("night.asc", plot(40))
    answer = desk.do("compare", str(first), str(last), "--format", "json")
    assert len(answer.json["changes"]) == 1 and "tracking" not in answer.out
    assert f"version {first} was read by ascii/1; read again by ascii/1 cues=moves" in answer.err
    look = desk.do("look", str(first), "--cue", "2")
    assert "read again by ascii/1 cues=moves" in look.err


def test_one_cue_of_an_export_is_brought_back_and_edits_are_undone_in_its_own_format(desk):
    first = desk.snapshot("night.asc", plot(30))
    last = desk.snapshot("night.asc", plot(75))
    back = desk.do("restore", str(first), "cue", "2")
    assert "cue 2" in back.out
    stands = (desk.shows / "night.asc").read_bytes()
    assert b"CHAN 1@50 2@30" in stands and stands.endswith(b"ENDDATA\r\n")
    assert "layout are not kept" in desk.versions()[0]["note"]
    desk.do("restore", str(last))
    desk.do("undo", str(last))
    assert b"CHAN 1@50 2@30" in (desk.shows / "night.asc").read_bytes()


def test_a_session_that_was_read_otherwise_is_undone_as_it_is_read_today(desk):
    desk.snapshot("night.asc", plot(30))
    last = desk.snapshot("night.asc", plot(75))
    desk.do("settings", "--read", "ascii.cues=moves")
    answer = desk.do("undo", str(last))
    assert f"version {last} was read by ascii/1; read again by ascii/1 cues=moves" in answer.err
    assert b"CHAN 1@50 2@30" in (desk.shows / "night.asc").read_bytes()


def test_an_export_that_would_lose_something_is_left_alone(desk):
    first = desk.snapshot("night.asc", plot(30))
    odd = plot(75).replace(b"ENDDATA", b"DANCE 1\r\nENDDATA")
    desk.snapshot("night.asc", odd)
    answer = desk.run("restore", str(first), "cue", "2", "--vault", desk.vault)
    assert answer.code == 3 and "unknown keyword" in answer.err
    assert (desk.shows / "night.asc").read_bytes() == odd


def test_a_comparison_does_not_call_the_export_itself_undescribed(desk):
    first = desk.snapshot("night.asc", plot(30))
    last = desk.snapshot("night.asc", plot(75))
    assert "not described" not in desk.do("compare", str(first), str(last)).out


def test_a_comparison_of_two_exports_says_how_they_were_read(desk):
    desk.save("a.asc", plot(30))
    desk.save("b.asc", plot(40).replace(b"2@40", b"2@40 9@999"))
    answer = desk.run("compare", "a.asc", "b.asc")
    assert "a.asc: each cue is read as a whole picture" in answer.err
    assert "b.asc: not carried: 1, first 1 × bad level" in answer.err


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
