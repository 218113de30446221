import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvault.errors import ShowvaultError
from showvault.show.addressing import Thing, say_thing
from showvault.show.asking import Asked, AskingError, read_asking
from showvault.show.parts import parts_of_file
from tests.builders import Tree, as_bytes
from tests.strategies import shows


@pytest.mark.parametrize(
    ("words", "asked"),
    [
        ("cue 12.5", Asked("cue", (("12.5", "12.5"),), "1")),
        ("cue 012.50", Asked("cue", (("12.5", "12.5"),), "1")),
        ("list 2 cue 5", Asked("cue", (("5", "5"),), "2")),
        ("Cues 12-20", Asked("cue", (("12", "20"),), "1")),
        ("cues 12 to 20", Asked("cue", (("12", "20"),), "1")),
        ("cues 12–20, 25", Asked("cue", (("12", "20"), ("25", "25")), "1")),
        ("list 3", Asked("cue_list", (("3", "3"),))),
        ("preset color 1.3", Asked("preset", (("1.3", "1.3"),), group="Color")),
        ("Color preset 1.3", Asked("preset", (("1.3", "1.3"),), group="Color")),
        ("color 1.3", Asked("preset", (("1.3", "1.3"),), group="Color")),
        ("fixtures 101-108", Asked("fixture", (("101", "108"),))),
        ("fixture 101.2", Asked("fixture", (("101.2", "101.2"),))),
        ("universe 2", Asked("fixture", universe=2)),
        ("patch", Asked("fixture")),
        ("group 1.10", Asked("group", (("1.10", "1.10"),))),
        ("type wash light", Asked("fixture_type", (("wash light", "wash light"),))),
        ("cue 12 dimmer", Asked("cue", (("12", "12"),), "1", attribute="dimmer")),
        ("cue 12 intensity", Asked("cue", (("12", "12"),), "1", attribute="Dimmer")),
        ("show", Asked("show")),
        ("the show", Asked("show")),
        ("cue list 3", Asked("cue_list", (("3", "3"),))),
        ("cue 5 of list 2", Asked("cue", (("5", "5"),), "2")),
        ("cues 5-7 list 2", Asked("cue", (("5", "7"),), "2")),
        ("Color preset page 1 slot 3", Asked("preset", (("1.3", "1.3"),), group="Color")),
        ("playback page 1 slot 3", Asked("playback", (("1.3", "1.3"),))),
        ("fixture 101 cell 2", Asked("fixture", (("101.2", "101.2"),))),
        ("fixture type page 1 slot 3", Asked("fixture_type", (("page 1 slot 3",) * 2,))),
        ("types", Asked("fixture_type")),
    ],
)
def test_what_people_say_is_understood(words: str, asked: Asked):
    assert read_asking(words) == asked


@pytest.mark.parametrize(
    "words",
    ["", "12", "cue twelve point", "cue 1.2345", "cue 12-", "cue 12 20", "lamp 3", "cue 1;2"],
)
def test_what_names_nothing_is_refused_in_words(words: str):
    with pytest.raises(ShowvaultError, match=r"names nothing|not a cue number"):
        read_asking(words)


@given(shows)
def test_whatever_the_program_calls_a_thing_names_it(show: Tree):
    for thing in parts_of_file(as_bytes(show)).parts:
        if thing.id and thing.id == thing.id.strip() and "\n" not in thing.id:
            assert read_asking(say_thing(thing)).single() == thing


def test_a_part_is_refused_rather_than_taken_for_its_cue():
    with pytest.raises(AskingError, match="a part is told with its cue"):
        read_asking("list 1 cue 12.5 part 2")


def test_a_refusal_repeats_what_was_said():
    with pytest.raises(AskingError, match=r"'preset 1\.3' names nothing"):
        read_asking("preset 1.3").single()


def test_a_kind_without_a_number_is_everything_of_it():
    assert read_asking("cues") == Asked("cue", (), "1")


def test_a_range_takes_what_lies_between_as_numbers():
    cues = [Thing("cue", number, "1") for number in ("9", "10", "10.5", "11", "2")]
    chosen = read_asking("cues 9.5-10.5").select([*cues, Thing("cue", "10", "2")])
    assert chosen == (Thing("cue", "10", "1"), Thing("cue", "10.5", "1"))


def test_one_thing_is_named_and_several_are_refused():
    assert read_asking("list 2 cue 5").single() == Thing("cue", "5", "2")
    assert read_asking("preset color 1.3").single() == Thing("preset", "Color 1.3")
    with pytest.raises(AskingError, match="say one number"):
        read_asking("cues 1-3").single()


@given(st.text(max_size=40))
def test_whatever_is_typed_is_understood_or_refused_in_words(words: str):
    try:
        read_asking(words)
    except ShowvaultError as error:
        assert error.exit_code == 2


def test_a_preset_of_another_class_and_a_type_of_another_name_are_not_meant():
    color = read_asking("preset color 1.3")
    assert color.includes(Thing("preset", "Color 1.3"))
    assert not color.includes(Thing("preset", "Position 1.3"))
    assert read_asking("type LED wash").includes(Thing("fixture_type", "LED wash"))
    assert not read_asking("type LED wash").includes(Thing("fixture_type", "LED"))


@pytest.mark.parametrize(
    ("words", "problem"),
    [
        ("fixture 0", "cannot be the number of a fixture"),
        ("universe 1, 2", "say one universe"),
        ("universe 1.5", "say one universe"),
    ],
)
def test_a_number_that_cannot_be_is_refused(words: str, problem: str):
    with pytest.raises(AskingError, match=problem):
        read_asking(words)


def test_one_preset_is_named_with_its_class():
    with pytest.raises(AskingError, match="say which: Dimmer"):
        read_asking("preset 1.3").single()
    assert read_asking("preset red 1.3").spans == (("1.3", "1.3"),)
