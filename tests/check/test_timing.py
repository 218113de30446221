"""Cues come one after the other as meant. Common practice, no source."""

from showvault.check.timing import find_cues_in_a_loop, find_empty_lists, find_follows_to_nowhere
from tests.builders import a_cue, a_list, a_rig, a_show_of_cues
from tests.check.rules import found, sentences

FOLLOW = {"from": "end", "seconds": 1}


def test_a_list_without_a_cue_is_a_warning() -> None:
    show = a_rig(cue_lists={"2": {}, "1": a_list({}), "3": a_list({"1": {}})})
    assert found(find_empty_lists, show) == [
        ("warning", "empty-list", "/cue_lists/1"),
        ("warning", "empty-list", "/cue_lists/2"),
    ]


def test_a_follow_on_the_last_cue_leads_nowhere_unless_there_is_a_link() -> None:
    show = a_show_of_cues({"9": a_cue(follow=FOLLOW), "10": a_cue(follow=FOLLOW)})
    assert found(find_follows_to_nowhere, show) == [
        ("warning", "follow-to-nowhere", "/cue_lists/1/cues/10/follow")
    ]
    for link in ({"cue": "9"}, {"list": "2"}):
        show["cue_lists"]["1"]["cues"]["10"]["link"] = link
        assert found(find_follows_to_nowhere, show) == []


def test_follows_that_run_round_are_one_note_that_tells_the_way() -> None:
    show = a_show_of_cues(
        {
            "1": a_cue(),
            "2": a_cue(follow=FOLLOW),
            "3": a_cue(follow=FOLLOW, link={"list": "2", "cue": "1"}),
        }
    )
    show["cue_lists"]["2"] = a_list({"1": a_cue(follow=FOLLOW, link={"list": "1", "cue": "2"})})
    assert found(find_cues_in_a_loop, show) == [("note", "loop", "/cue_lists/1/cues/2")]
    assert sentences(find_cues_in_a_loop, show) == [
        "list 1 cue 2: runs round by itself: cue 2 → cue 3 → list 2 cue 1 → cue 2"
    ]


def test_a_link_that_leads_back_is_a_note_and_one_that_leads_on_is_not() -> None:
    show = a_show_of_cues(
        {
            "1": a_cue(link={"cue": "3"}),
            "2": a_cue(link={"cue": "2"}),
            "3": a_cue(link={"cue": "1"}),
        }
    )
    assert found(find_cues_in_a_loop, show) == [
        ("note", "loop", "/cue_lists/1/cues/2/link"),
        ("note", "loop", "/cue_lists/1/cues/3/link"),
    ]
