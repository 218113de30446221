"""What names another thing follows it to its number in the merged show."""

from tests.builders import a_cue, a_fixture
from tests.merge.three_sides import cues, edited, four_cues, merge_edits


def test_a_new_use_of_a_preset_follows_where_the_other_moved_it():
    def mine(show):
        presets = show["presets"]["Color"]
        presets["1.7"] = presets.pop("1.3")

    def theirs(show):
        cues(show)["4"]["levels"]["101"] = {"ColorAdd_R": {"preset": "Color 1.3"}}

    result = merge_edits(four_cues(), mine, theirs)
    assert result.conflicts == ()
    assert cues(result.show)["4"]["levels"]["101"] == {"ColorAdd_R": {"preset": "Color 1.7"}}


def test_a_new_use_follows_the_preset_though_another_one_stands_at_its_number_now():
    def mine(show):
        cues(show)["4"]["levels"]["101"] = {"ColorAdd_R": {"preset": "Color 1.3"}}
        cues(show)["5"] = a_cue({"101": {"ColorAdd_R": {"preset": "Color 1.3"}}}, label="Bows")

    def moved(show):
        presets = show["presets"]["Color"]
        presets["1.9"] = presets["1.3"]
        presets["1.3"] = {"name": "Deep blue", "levels": {"102": {"ColorAdd_B": 100}}}
        cues(show)["2"]["levels"]["102"] = {"ColorAdd_B": {"preset": "Color 1.3"}}

    def moved_and_edited(show):
        moved(show)
        show["presets"]["Color"]["1.9"]["levels"]["103"] = {"ColorAdd_R": 7}

    for theirs in (moved, moved_and_edited):
        for sides in ((mine, theirs), (theirs, mine)):
            result = merge_edits(four_cues(), *sides)
            assert result.conflicts == ()
            for number in ("4", "5"):
                stored = cues(result.show)[number]["levels"]["101"]
                assert stored == {"ColorAdd_R": {"preset": "Color 1.9"}}
            assert cues(result.show)["2"]["levels"]["102"] == {
                "ColorAdd_B": {"preset": "Color 1.3"}
            }


def test_a_new_link_and_a_new_level_follow_the_cue_and_the_fixture_that_made_way():
    def mine(show):
        cues(show)["2"]["link"] = {"cue": "4"}
        cues(show)["4"]["levels"]["2"] = {"Dimmer": 7}

    def theirs(show):
        held, patch = cues(show), show["patch"]
        held["9"], held["4"] = held["4"], a_cue({"3": {"Dimmer": 3}}, label="Lightning")
        patch["22"] = patch["2"]
        patch["2"] = a_fixture("wash", "16 bit", universe=5, name="Floor wash")
        held["2"]["levels"]["22"] = held["2"]["levels"].pop("2")
        show["groups"]["1"]["fixtures"] = [1, 22, 3, 4]

    base = edited(four_cues(), lambda show: show["patch"]["2"].update(name="Boom left"))
    result = merge_edits(base, mine, theirs)
    assert result.conflicts == ()
    assert cues(result.show)["2"]["link"] == {"cue": "9"}
    assert cues(result.show)["9"]["levels"] == {"4": {"Dimmer": 80}, "22": {"Dimmer": 7}}


def test_a_renumbered_fixture_is_renumbered_in_what_the_other_edits():
    def mine(show):
        show["patch"]["202"] = {**show["patch"].pop("101"), "name": "Boom left"}
        cues(show)["2"]["levels"]["202"] = cues(show)["2"]["levels"].pop("101")
        show["presets"]["Color"]["1.3"]["levels"] = {"202": {"ColorAdd_R": 100}}

    def theirs(show):
        cues(show)["2"]["levels"]["101"]["Dimmer"] = 31
        show["groups"]["1"]["fixtures"].append(101)

    base = edited(four_cues(), lambda show: show["patch"]["101"].update(name="Boom left"))
    result = merge_edits(base, mine, theirs)
    assert result.conflicts == ()
    assert cues(result.show)["2"]["levels"] == {"2": {"Dimmer": 60}, "202": {"Dimmer": 31}}
    assert result.show["groups"]["1"]["fixtures"] == [1, 2, 3, 4, 202]
