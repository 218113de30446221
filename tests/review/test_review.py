"""What plays differently, the three kinds, and what a designer is warned of. No source."""

import copy

import msgspec
import pytest

from showvault.compare.differ import compare_shows
from showvault.review.cautions import LOADING, cautions_for
from showvault.review.review import called_differently, review_shows
from showvault.review.review_json import review_as_json
from showvault.show.parts import parts_of_file
from showvault.show.reading import decode_show
from tests.builders import (
    a_channel,
    a_cue,
    a_fixture,
    a_full_show,
    a_rig,
    a_show_of_cues,
    a_type,
    as_bytes,
)


def review(before, after):
    one, other = as_bytes(before), as_bytes(after)
    comparison = compare_shows(parts_of_file(one), parts_of_file(other))
    return review_shows(decode_show(one), decode_show(other), comparison)


def as_json(before, after):
    text = msgspec.json.Encoder(decimal_format="number").encode(
        review_as_json(review(before, after))
    )
    return msgspec.json.decode(text)


def edited(before, edit):
    after = copy.deepcopy(before)
    edit(after)
    return after


def cue(show, number="2"):
    return show["cue_lists"]["1"]["cues"][number]


def a_new_cue(show, levels):
    show["cue_lists"]["1"]["cues"]["99"] = a_cue(levels, label="Bows")


@pytest.mark.parametrize(
    ("edit", "kind"),
    [
        (lambda show: cue(show).update(label="Rain"), "neither"),
        (lambda show: cue(show).update(notes="x"), "neither"),
        (lambda show: cue(show).update(block=True), "neither"),
        (lambda show: cue(show).update(fade_in=9), "plays"),
        (lambda show: cue(show)["follow"].update(seconds=3), "plays"),
        (lambda show: cue(show).update(link={"cue": "1"}), "plays"),
        (lambda show: cue(show).update(trigger={"kind": "time", "at": "20:00"}), "plays"),
        (lambda show: show["effects"]["1.1"].update(cycle_seconds=1), "plays"),
        (lambda show: show["effects"]["1.1"].update(name="Swell"), "neither"),
        (lambda show: show["cue_lists"]["1"].update(dark_moves="automatic"), "plays"),
        (lambda show: cue(show, "1")["levels"]["1"].update(Dimmer=60), "looks"),
        (lambda show: cue(show)["levels"].update({"1": {"Dimmer": 50}}), "neither"),
        (
            lambda show: show["presets"]["Color"]["1.3"]["types"]["wash"].update(ColorAdd_R=9),
            "looks",
        ),
        (
            lambda show: show["presets"]["Color"]["1.3"]["types"]["wash"].update(ColorAdd_G=9),
            "neither",
        ),
        (
            lambda show: show["presets"]["Color"].update({"1.4": {"all": {"ColorAdd_R": 1}}}),
            "neither",
        ),
        (lambda show: show["curves"]["2"].update(points=[[0, 5], [100, 100]]), "looks"),
        (lambda show: show["patch"]["1"].update(notes="ladder"), "neither"),
        (lambda show: a_new_cue(show, {"1": {"Dimmer": 5}}), "looks"),
        (lambda show: a_new_cue(show, {"1": {"Dimmer": 50}}), "plays"),
        (lambda show: show["cue_lists"]["1"]["cues"].pop("2.5"), "looks"),
    ],
)
def test_every_edit_looks_different_plays_differently_or_neither(edit, kind):
    before = a_full_show()
    assert review(before, edited(before, edit)).kinds == (kind,)


def test_a_follow_is_told_with_the_length_of_its_chain():
    before = a_full_show()
    rows = as_json(before, edited(before, lambda show: cue(show)["follow"].update(seconds=4)))
    (row,) = rows["plays"]
    assert (row["list"], row["cue"], row["field"]) == ("1", "2", "follow")
    assert row["because"] == [{"kind": "edited", "list": "1", "cue": "2"}]
    # 3 s of fade, the follow, and 12 s of part 2 of cue 2.5
    assert row["chain"] == {"before": 17, "after": 19}


def test_an_effect_is_told_in_the_cues_that_start_it():
    before = a_full_show()
    after = edited(before, lambda show: show["effects"]["1.1"].update(cycle_seconds=1))
    (row,) = as_json(before, after)["plays"]
    assert (row["cue"], row["before"], row["after"]) == ("2", 4, 1)
    assert row["because"] == [{"kind": "effect", "effect": "1.1"}]


def test_the_time_of_a_stored_value_plays_differently():
    before = a_full_show()

    def slower(show):
        cue(show, "2.5")["levels"]["102"]["Dimmer"]["fade"] = 7

    (row,) = as_json(before, edited(before, slower))["plays"]
    assert (row["fixture"], row["attribute"], row["field"], row["before"], row["after"]) == (
        "102",
        "Dimmer",
        "fade",
        2,
        7,
    )


def test_a_move_that_became_live_is_told():
    dark, lit = {"101": {"Dimmer": 0}}, {"101": {"Dimmer": 80}}
    before = a_show_of_cues(
        {"1": a_cue(dark), "2": a_cue({"101": {"Pan": 10}}), "3": a_cue({"101": {"Dimmer": 80}})}
    )
    after = edited(before, lambda show: cue(show, "1").update(levels=lit))
    (move,) = review(before, after).live_moves
    assert (move.cue.id, move.fixture, move.attributes, move.before) == (
        "2",
        "101",
        ("Pan",),
        "dark",
    )


def test_a_move_that_was_made_in_a_cue_that_is_gone_is_live_now():
    before = a_show_of_cues(
        {
            "1": a_cue({"101": {"Dimmer": 0}}),
            "2": a_cue({"101": {"Pan": 10}}),
            "3": a_cue({"101": {"Dimmer": 80, "Pan": 10}}),
        }
    )
    after = edited(before, lambda show: show["cue_lists"]["1"]["cues"].pop("2"))
    (move,) = review(before, after).live_moves
    assert (move.cue.id, move.before) == ("3", "none")


def test_times_alone_can_make_a_move_live():
    late = {"101": {"Dimmer": {"level": 80, "delay": 3}, "Pan": 10}}
    before = a_show_of_cues({"1": a_cue({"101": {"Dimmer": 0}}), "2": a_cue(late)})
    after = edited(before, lambda show: cue(show).update(fade_in=4))
    assert [move.cue.id for move in review(before, after).live_moves] == ["2"]


def test_fixtures_that_lost_their_light_or_stay_lit_are_told():
    before = a_show_of_cues({"1": a_cue({"1": {"Dimmer": 50}, "2": {"Dimmer": 0}}), "2": a_cue()})

    def swap(show):
        cue(show).update(levels={"1": {"Dimmer": 0}, "2": {"Dimmer": 40}})

    (change,) = review(before, edited(before, swap)).light
    assert (change.cue.id, change.lost, change.lit) == ("2", ("1",), ("2",))


def a_strobing_rig(level):
    strobe = {"name": "Strobe", "from": 10, "to": 90, "physical": [1, 20], "unit": "Hz"}
    shutter = a_channel("Shutter1", 1, default=100, functions=[strobe])
    return a_rig(
        fixture_types={"t": a_type(shutter, mode="m", hazards=["strobe"])},
        patch={"5": a_fixture("t", "m")},
        cue_lists={"1": {"cues": {"1": a_cue({"5": {"Shutter1": level}})}}},
    )


def test_a_strobe_that_is_new_or_faster_is_told_and_a_slower_one_is_not():
    (new,) = as_json(a_strobing_rig(100), a_strobing_rig(50))["flashing"]
    assert (new["by"], new["fixtures"], new["before"], new["after"]) == ("strobe", ["5"], 0, 10.5)
    assert review(a_strobing_rig(50), a_strobing_rig(20)).flashing == ()
    assert review(a_strobing_rig(20), a_strobing_rig(50)).flashing[0].before == 3.375


def test_a_faster_effect_is_told_in_the_cue_that_starts_it():
    before = a_full_show()
    after = edited(before, lambda show: show["effects"]["1.1"].update(cycle_seconds=0.25))
    (flashing,) = review(before, after).flashing
    assert (flashing.by, flashing.effect, flashing.before, flashing.after) == (
        "effect",
        "1.1",
        0.25,
        4,
    )


def test_a_chain_of_follows_that_began_to_flash_is_told():
    def chain(seconds):
        return a_show_of_cues(
            {
                str(n): a_cue(
                    {"1": {"Dimmer": 100 * (n % 2)}}, follow={"from": "go", "seconds": seconds}
                )
                for n in range(1, 10)
            }
        )

    found = review(chain(2), chain(0.1)).flashing
    assert {(f.by, f.cue.id, f.after) for f in found} >= {("chain", "1", 4)}


def test_changed_fixtures_that_carry_a_hazard_are_named_once():
    found = review(a_strobing_rig(100), a_strobing_rig(95))
    assert found.hazards == {"strobe": ("5",)}
    loading, strobes = cautions_for(found.hazards)
    assert (loading.text, loading.fixtures) == (LOADING, ())
    assert (strobes.hazard, strobes.fixtures) == ("strobe", ("5",))


def test_what_a_stage_manager_calls_differently_can_be_asked_for_by_itself():
    before = a_full_show()

    def session(show):
        cue(show).update(label="Rain", fade_in=9)
        cue(show, "1")["levels"]["1"]["Dimmer"] = 1
        show["cue_lists"]["1"]["cues"]["7"] = a_cue(label="Bows")

    found = called_differently(review(before, edited(before, session)).comparison)
    assert [(type(change).__name__, change.thing.id) for change in found] == [
        ("Changed", "2"),
        ("Added", "7"),
    ]
