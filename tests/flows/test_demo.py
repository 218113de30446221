"""The saves of the demonstration."""

import json
from pathlib import Path

import pytest

from showvault.flows.demo import DemoSave, NotTheDemoShowError, demo_saves, play_session
from showvault.show.reading import find_faults, judge_whole

EVENING = Path(__file__).resolve().parents[2] / "sample_shows" / "harvest_musical_evening.json"


@pytest.fixture(scope="module")
def saves() -> list[DemoSave]:
    return demo_saves(EVENING.read_bytes())


def cues(save: DemoSave) -> dict:
    return json.loads(save.data)["cue_lists"]["1"]["cues"]


def test_every_save_but_the_half_written_one_is_a_show_without_faults(saves):
    for save in saves:
        if save.whole:
            assert find_faults(save.data) == []


def test_one_save_stops_half_way_and_is_repeated_to_its_end(saves):
    (broken,) = [index for index, save in enumerate(saves) if not save.whole]
    assert judge_whole(saves[broken].data).state == "broken"
    assert saves[broken + 1].data.startswith(saves[broken].data)


def test_each_save_differs_from_the_one_before_it(saves):
    datas = [EVENING.read_bytes(), *(save.data for save in saves)]
    assert len(set(datas)) == len(datas)


def test_the_first_save_trims_the_front_warm_by_ten_points(saves):
    before = json.loads(EVENING.read_bytes())["cue_lists"]["1"]["cues"]["9"]["levels"]["2"][
        "Dimmer"
    ]
    assert cues(saves[0])["9"]["levels"]["2"]["Dimmer"] == before - 10


def test_the_first_save_touches_no_cue_outside_its_run(saves):
    before = json.loads(EVENING.read_bytes())["cue_lists"]["1"]["cues"]
    changed = {number for number, cue in cues(saves[0]).items() if cue != before[number]}
    assert changed == {"6", "7", "8", "9", "9.5"}


def test_the_last_save_inserts_a_cue(saves):
    assert set(cues(saves[-1])) - set(cues(saves[0])) == {"57.5"}


def test_the_same_evening_gives_the_same_saves(saves):
    assert demo_saves(EVENING.read_bytes()) == saves


def test_another_show_is_refused_with_what_it_lacks():
    with pytest.raises(NotTheDemoShowError, match="lacks"):
        demo_saves(b'{"format": "neutral-show", "format_version": 1}')


def test_the_session_hands_over_every_save_in_order_with_its_file(saves, tmp_path):
    got: list[tuple[Path, DemoSave]] = []
    play_session(tmp_path, EVENING.read_bytes(), lambda path, save: got.append((path, save)))
    assert [save for _, save in got] == saves
    assert {path.parent for path, _ in got} == {tmp_path}
