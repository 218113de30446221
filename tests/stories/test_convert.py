"""Shows from one open format to another, through the real command line."""

import json

import pytest

from tests.interchange.rigs import address, channel, fixture, fixture_type, rig
from tests.stories.desk import SAMPLES

PLOT = (
    b"IDENT 3:0\r\nPATCH 1 1<1@100 2<2@H80\r\n"
    b"CUE 1\r\nTEXT Storm\r\nUP 3\r\nCHAN 1@50\r\nENDDATA\r\n"
)
PLAY = SAMPLES / "lighthouse_play.json"


@pytest.fixture
def plot(desk):
    return desk.save("plot.asc", PLOT)


def test_an_export_becomes_a_show_that_the_other_commands_read(desk, plot):
    answer = desk.run("convert", plot, "plot.json")
    assert answer.code == 0, answer.err
    assert "nothing was lost" in answer.out and "whole picture" in answer.out
    assert desk.run("check", "plot.json").code == 0
    assert desk.run("look", "plot.json", "--cue", "1").code in (0, 2)


def test_what_a_format_cannot_hold_is_told_by_kind_place_and_number(desk):
    answer = desk.run("convert", PLAY, "play.asc", "--format", "json")
    assert answer.code == 0, answer.err
    told = {loss["what"]: loss["count"] for loss in answer.json["write_losses"]}
    assert told["ColorAdd_R levels"] > 0 and told["title"] == 1
    assert answer.json["reader"] == "neutral/1" and answer.json["writer"] == "ascii/1"


@pytest.mark.parametrize("name", ["play.csv", "play.tsv", "play.xlsx", "play.mvr", "play.asc"])
def test_a_sample_show_goes_out_and_comes_back_in_every_format(desk, name):
    assert desk.run("convert", PLAY, name).code == 0
    back = desk.run("convert", name, "back.json")
    assert back.code == 0, back.err
    patch = json.loads((desk.shows / "back.json").read_bytes())["patch"]
    assert set(json.loads(PLAY.read_bytes())["patch"]) >= set(patch) != set()


def test_settings_say_how_to_read(desk, plot):
    assert desk.run("convert", plot, "plot.json", "--set", "cues=moves").code == 0
    assert json.loads((desk.shows / "plot.json").read_bytes())["cue_lists"]["1"]["tracking"] is True


def test_nothing_is_replaced_without_a_yes(desk, plot):
    there = desk.save("plot.json", b"mine")
    answer = desk.run("convert", plot, there)
    assert answer.code != 0 and there.read_bytes() == b"mine"
    assert desk.run("convert", plot, there, "--yes").code == 0
    assert there.read_bytes() != b"mine"


def test_a_rig_is_laid_into_a_show_and_the_patch_comparison_comes_first(desk):
    swell = fixture_type(channel("1", "Dimmer"), channel("2", "Pan"))
    desk.save("stage.mvr", rig(fixture(1, address("3.101")), fixture(900), Swell=swell))
    before = desk.save("play.json", PLAY.read_bytes())
    shown = desk.run("convert", "stage.mvr", "new.json", "--into", "play.json")
    moved = "universe 1 address 1 → universe 3 addresses 101–102"
    assert f"fixture 1: dimmer, 8 bit → Swell, Basic; {moved}" in shown.out
    assert "fixture 900 is new: Swell, Basic, not patched" in shown.out
    assert not (desk.shows / "new.json").exists()
    answer = desk.run("convert", "stage.mvr", "new.json", "--into", "play.json", "--yes")
    assert answer.code == 0, answer.err
    merged = json.loads((desk.shows / "new.json").read_bytes())
    assert merged["patch"]["1"]["type"] == "Swell" and "900" in merged["patch"]
    assert merged["cue_lists"].keys() == json.loads(before.read_bytes())["cue_lists"].keys()


@pytest.mark.parametrize(
    "arguments, code",
    [
        (("plot.asc", "plot.desk"), 2),
        (("plot.asc", "plot.json", "--set", "speed=9"), 2),
        (("plot.asc", "plot.json", "--set", "cues=both"), 2),
        (("plot.asc", "plot.json", "--set", "cues"), 2),
        (("tonight.desk", "plot.json"), 3),
        (("half.asc", "plot.json"), 3),
        (("lost.asc", "plot.json"), 4),
    ],
)
def test_what_cannot_be_converted_says_why_and_writes_nothing(desk, plot, arguments, code):
    desk.save("tonight.desk", b"\x01\x02\x03")
    desk.save("half.asc", PLOT[:-15])
    answer = desk.run("convert", *arguments)
    assert answer.code == code, answer
    assert "Traceback" not in answer.err and answer.err.strip()
    assert not (desk.shows / "plot.json").exists()
