"""What goes by itself. Common practice without a published source."""

from showvault.look.chains import CueOrder, CueRef, chain_from, find_loops
from showvault.look.fixtures import rig_of
from showvault.show.reading import decode_show
from tests.builders import a_cue, a_list, a_rig, a_show_of_cues, as_bytes


def chain(tree, cue, list_number="1"):
    show = decode_show(as_bytes(tree))
    return chain_from(CueOrder(show), rig_of(show), CueRef(list_number, cue))


def steps(found):
    return [(step.ref.cue, step.start) for step in found.steps]


def test_a_cue_without_a_follow_is_a_chain_of_itself():
    found = chain(a_show_of_cues({"1": a_cue(), "2": a_cue()}), "1")
    assert (steps(found), found.length) == ([("1", 0)], 3000)


def test_a_follow_counts_from_the_go_or_from_the_end():
    tree = a_show_of_cues(
        {
            "9": a_cue(follow={"from": "go", "seconds": 1}),
            "9.5": a_cue(follow={"from": "end", "seconds": 2.5}),
            "10": a_cue(),
        }
    )
    found = chain(tree, "9")
    assert (steps(found), found.length) == ([("9", 0), ("9.5", 1000), ("10", 6500)], 9500)


def test_a_long_fade_carries_on_after_the_chain():
    tree = a_show_of_cues(
        {"1": a_cue(fade_in=60, follow={"from": "go", "seconds": 1}), "2": a_cue()}
    )
    assert chain(tree, "1").length == 60_000


def test_a_follow_goes_where_the_link_leads():
    lists = {
        "1": a_list(
            {"1": a_cue(follow={"seconds": 1}, link={"list": "2", "cue": "5"}), "2": a_cue()}
        ),
        "2": a_list({"5": a_cue()}),
    }
    found = chain(a_rig(cue_lists=lists), "1")
    assert found.steps[1].ref == CueRef("2", "5")


def test_a_link_backwards_makes_a_loop():
    tree = a_show_of_cues(
        {
            "1": a_cue(follow={"seconds": 1}),
            "2": a_cue(follow={"seconds": 2}),
            "3": a_cue(follow={"seconds": 4}, link={"cue": "2"}),
        }
    )
    found = chain(tree, "1")
    assert (found.length, found.loops_to) == (7000, CueRef("1", "2"))
    assert find_loops(decode_show(as_bytes(tree))) == [(CueRef("1", "2"), CueRef("1", "3"))]


def test_a_chain_ends_where_its_link_leads_nowhere():
    tree = a_show_of_cues({"1": a_cue(follow={"seconds": 1}, link={"cue": "77"}), "2": a_cue()})
    assert steps(chain(tree, "1")) == [("1", 0)]
