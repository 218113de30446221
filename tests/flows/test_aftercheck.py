import json

from showvault.flows.aftercheck import MOST_BYTES, check_kept
from showvault.show.cutting import CutShow, cut_into_parts
from tests.flows.rooms import Room, a_save


def test_a_show_that_was_kept_is_checked_afterwards_and_told_once(room: Room):
    show = json.loads(a_save(50))
    show["cue_lists"]["1"]["cues"]["1"]["levels"]["999"] = {"Dimmer": 50}
    kept = room.keep(room.save(json.dumps(show).encode()))
    assert kept.version.good
    (said,) = [one for one in room.keeper.afterwards() if "check" in one]
    assert "1 error" in said
    assert "fixture 999" in said
    show["cue_lists"]["1"]["cues"]["2"]["label"] = "Another save, the same error"
    room.keep(room.save(json.dumps(show).encode()))
    assert not [one for one in room.keeper.afterwards() if "check" in one]


def test_a_sound_show_is_not_talked_about(room: Room):
    cut = cut_into_parts(a_save(50))
    assert cut is not None
    assert check_kept(cut) == ""


def test_a_show_too_large_to_be_read_again_is_left_to_the_check_itself():
    large = CutShow(b"", {"a": b" " * (MOST_BYTES + 1)}, {})
    assert check_kept(large) == ""


def test_a_check_that_fails_is_told_by_its_kind():
    odd = CutShow(b"no skeleton of any show\0", {}, {})
    assert check_kept(odd).startswith("the check could not be made: ")
