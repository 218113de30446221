"""Each part of a cue has its own parameters. Common practice, no source."""

from showvault.check.parts import find_parameters_stored_twice
from tests.builders import a_cue, a_show_of_cues
from tests.check.rules import found, sentences


def parts(**levels_of: dict) -> dict:
    return {number[1:]: {"levels": levels} for number, levels in levels_of.items()}


def test_a_parameter_stored_in_two_parts_is_an_error_at_the_later_one() -> None:
    cue = a_cue(
        {"1": {"Dimmer": 5}},
        parts=parts(p2={"1": {"Dimmer": 6}, "2": {"Dimmer": 5}}, p10={"2": {"Dimmer": 7}}),
    )
    show = a_show_of_cues({"5": cue})
    assert found(find_parameters_stored_twice, show) == [
        ("error", "stored-twice", "/cue_lists/1/cues/5/parts/2/levels/1/Dimmer"),
        ("error", "stored-twice", "/cue_lists/1/cues/5/parts/10/levels/2/Dimmer"),
    ]
    assert sentences(find_parameters_stored_twice, show)[0] == (
        "list 1 cue 5 part 2, fixture 1 intensity: stored in part 1 too; the highest part wins"
    )


def test_parts_with_parameters_of_their_own_are_no_problem() -> None:
    cue = a_cue(
        {"101": {"Dimmer": 5}},
        parts=parts(p1={"101": {"Tilt": 1}}, p2={"101": {"Pan": 6}, "102": {"Dimmer": 5}}),
    )
    assert found(find_parameters_stored_twice, a_show_of_cues({"5": cue, "6": cue})) == []
