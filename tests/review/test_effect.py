"""Which cues look different and why, in the words of a review. Common practice, no source."""

import copy

from showvault.compare.differ import compare_shows
from showvault.review.effect import on_stage
from showvault.review.stage_json import on_stage_as_json
from showvault.show.parts import parts_of_file
from showvault.show.reading import decode_show
from tests.builders import a_cue, a_list, a_rig, a_show_of_cues, as_bytes


def rows(before, after):
    one, other = as_bytes(before), as_bytes(after)
    comparison = compare_shows(parts_of_file(one), parts_of_file(other))
    return on_stage_as_json(on_stage(decode_show(one), decode_show(other), comparison))


def told(row):
    """A row without the parameters that each cause explains."""
    return [
        {key: value for key, value in because.items() if key != "parameters"}
        for because in row["because"]
    ]


def a_run(levels, **sections):
    """Cues 1 to 6, with what some of them store."""
    return a_show_of_cues(
        {str(number): a_cue(levels.get(number)) for number in range(1, 7)}, **sections
    )


def test_an_edit_tracks_until_a_later_cue_stores_the_parameter():
    before = a_run({2: {"1": {"Dimmer": 50}}, 5: {"1": {"Dimmer": 0}}})
    after = a_run({2: {"1": {"Dimmer": 65}}, 5: {"1": {"Dimmer": 0}}})
    found = rows(before, after)
    assert [row["cue"] for row in found] == ["2", "3", "4"]
    assert found[0]["parameters"] == [
        {"fixture": "1", "attribute": "Dimmer", "before": 50, "after": 65}
    ]
    reach = {"first": "2", "last": "4", "stops_at": "5"}
    assert told(found[0]) == [{"kind": "edited", "list": "1", "cue": "2", **reach}]
    assert told(found[2]) == [{"kind": "tracks", "list": "1", "cue": "2", **reach}]


def test_an_edit_that_nothing_stops_runs_to_the_end_of_the_list():
    found = rows(a_run({}), a_run({5: {"1": {"Dimmer": 10}}}))
    assert told(found[-1])[0]["stops_at"] is None
    assert [row["cue"] for row in found] == ["5", "6"]


def test_a_change_with_the_old_value_put_back_reaches_one_cue():
    before = a_run({1: {"1": {"Dimmer": 50}}})
    after = a_run({1: {"1": {"Dimmer": 50}}, 3: {"1": {"Dimmer": 70}}, 4: {"1": {"Dimmer": 50}}})
    assert [row["cue"] for row in rows(before, after)] == ["3"]


def test_a_value_stored_again_as_it_was_changes_no_picture():
    before = a_run({1: {"1": {"Dimmer": 50}}})
    assert rows(before, a_run({1: {"1": {"Dimmer": 50}}, 3: {"1": {"Dimmer": 50}}})) == []


def test_a_preset_changes_every_cue_that_uses_it():
    cues = {2: {"101": {"Pan": {"preset": "Position 7"}}}, 4: {"101": {"Pan": 0}}}
    held = [{"Position": {"7": {"levels": {"101": {"Pan": pan}}}}} for pan in (20, 30)]
    found = rows(a_run(cues, presets=held[0]), a_run(cues, presets=held[1]))
    assert [row["cue"] for row in found] == ["2", "3"]
    assert told(found[1]) == [{"kind": "preset", "preset": "Position 7"}]


def test_a_removed_cue_is_named_by_the_cues_after_it():
    before = a_run({3: {"1": {"Dimmer": 50}}})
    after = copy.deepcopy(before)
    del after["cue_lists"]["1"]["cues"]["3"]
    found = rows(before, after)
    assert [row["cue"] for row in found] == ["4", "5", "6"]
    assert told(found[0])[0]["kind"] == "cue_removed"
    assert told(found[0])[0]["cue"] == "3"


def test_an_added_cue_is_named_by_the_cues_after_it_and_has_no_row_of_its_own():
    before = a_run({})
    after = copy.deepcopy(before)
    after["cue_lists"]["1"]["cues"]["3.5"] = a_cue({"1": {"Dimmer": 50}}, label="Bows")
    found = rows(before, after)
    assert [row["cue"] for row in found] == ["4", "5", "6"]
    assert (told(found[0])[0]["kind"], told(found[0])[0]["cue"]) == ("cue_added", "3.5")


def test_a_default_of_a_type_is_told_by_the_type():
    before = a_run({3: {"101": {"Pan": 10}}})
    after = copy.deepcopy(before)
    after["fixture_types"]["wash"]["modes"]["16 bit"]["channels"][4]["default"] = 40
    found = rows(before, after)
    assert told(found[0]) == [{"kind": "type", "fixture_type": "wash"}]
    assert {p["fixture"] for p in found[3]["parameters"]} == {"102", "103"}


def test_another_kind_of_tracking_is_told_by_the_list():
    cues = {"1": a_cue({"1": {"Dimmer": 50}}), "2": a_cue()}
    before = a_rig(cue_lists={"1": a_list(cues)})
    found = rows(before, a_rig(cue_lists={"1": a_list(cues, tracking=False)}))
    assert [(row["cue"], told(row)[0]["kind"], told(row)[0]["list"]) for row in found] == [
        ("2", "edited", "1")
    ]


def test_a_fixture_that_is_new_and_dark_changes_no_picture():
    before = a_run({})
    after = copy.deepcopy(before)
    after["patch"]["104"] = {"type": "wash", "mode": "16 bit"}
    assert rows(before, after) == []


def test_a_fixture_that_left_the_patch_takes_its_light_along():
    before = a_run({2: {"1": {"Dimmer": 50}}, 4: {"1": {"Dimmer": 0}}})
    after = copy.deepcopy(before)
    del after["patch"]["1"]
    found = rows(before, after)
    assert [row["cue"] for row in found] == ["2", "3"]
    assert found[0]["parameters"][0]["after"] is None
    assert told(found[0]) == [{"kind": "type", "fixture": "1"}]
