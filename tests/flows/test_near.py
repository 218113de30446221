"""After a slip of the finger a person is told what there is, in words that can be typed."""

import pytest

from showvault.flows.near import say_near
from showvault.show.addressing import Kind, Thing
from showvault.show.asking import read_asking


def some(kind: Kind, *ids: str, cue_list: str = "") -> list[Thing]:
    return [Thing(kind, one, cue_list) for one in ids]


CUES = some("cue", *map(str, range(1, 21)), cue_list="1") + some("cue", "5", cue_list="2")
THINGS = [
    *CUES,
    *some("cue_list", "1", "2"),
    *some("group", *(f"1.{n}" for n in range(1, 13))),
    *some("preset", *(f"Color 1.{n}" for n in range(1, 10)), "Position 7", "Beam 40"),
    *some("macro", "1.1"),
    *some("fixture_type", "spot", "wash", *(f"dimmer {n}" for n in range(8))),
]


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("cue 9.5", "near it: list 1 cue 8, list 1 cue 9, list 1 cue 10, list 1 cue 11"),
        ("list 3 cue 9", "near it: list 1, list 2"),
        ("list 2 cue 1", "near it: list 2 cue 5"),
        ("group 9", "near it: group 1.9"),
        ("group 99", "near it: group 1.11, group 1.12"),
        ("preset color 12", "near it: preset Color 1.8, preset Color 1.9"),
        ("preset 41", "near it: preset Position 7, preset Beam 40"),
        ("macro 9", "near it: macro 1.1"),
        ("type sport", "near it: type spot"),
        ("effect 1", "there are no effects at all"),
        ("universe 9", "no fixture is patched in it, neither then nor now"),
        ("the show", "without THING the whole version comes back"),
    ],
)
def test_what_is_near_can_be_typed_as_it_is_said(asked: str, said: str) -> None:
    assert say_near(read_asking(asked), THINGS) == said
    for piece in said.removeprefix("near it: ").split(", ") if "near" in said else ():
        assert any(read_asking(piece).includes(thing) for thing in THINGS)


def test_a_list_without_cues_says_so() -> None:
    assert say_near(read_asking("cue 1"), []) == "there are no cues in that list"
