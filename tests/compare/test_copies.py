"""Copies whose content is no longer spelled as their original's was."""

from showvault.compare.changes import Changed, Copied, Moved
from tests.builders import Tree, a_show
from tests.compare.test_matching import AMBER, a_full_cue, cue, kinds


def a_show_in_amber(place: str, cues: Tree) -> Tree:
    return a_show(presets={"Color": {place: AMBER}}, cue_lists={"1": {"cues": cues}})


def amber(place: str, **more: Tree) -> Tree:
    scene = a_full_cue(5, **more)
    scene["levels"]["1"] = {"ColorAdd_R": {"preset": f"Color {place}"}}
    return scene


def told(cues: Tree) -> list[tuple[object, ...]]:
    """Return what is told of cues after amber moved from slot 3 to slot 9."""
    after = a_show_in_amber("1.9", cues)
    return [
        one for one in kinds(a_show_in_amber("1.3", {"5": amber("1.3")}), after) if one[0] != Moved
    ]


def test_a_copy_follows_what_it_names_together_with_its_original():
    assert told({"5": amber("1.9"), "6": amber("1.9")}) == [(Copied, cue("6"), cue("5"))]


def test_a_copy_is_known_though_its_original_was_edited_since():
    cues = {"5": amber("1.9", notes="by hand"), "6": amber("1.9")}
    assert told(cues) == [(Changed, cue("5")), (Copied, cue("6"), cue("5"))]
