"""Live moves and dark moves, and what dark is. Common practice without a published source."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showvault.look.fixtures import rig_of
from showvault.look.levels import millionths
from showvault.look.light import by_fixture, is_lit
from showvault.look.moves import find_moves
from showvault.look.tracking import table_of, track_fixtures, track_list
from showvault.show.reading import decode_show
from tests.builders import a_channel, a_cue, a_fixture, a_list, a_rig, a_type, as_bytes
from tests.look import shows


def moves(cues, **list_fields):
    tree = a_rig(cue_lists={"1": a_list(cues, **list_fields)})
    found = find_moves(decode_show(as_bytes(tree)), "1", ["101"])
    return [(move.cue, move.attributes, move.seen) for move in found]


DARK = a_cue({"101": {"Dimmer": 0}})
LIT = a_cue({"101": {"Dimmer": 80}})


def test_a_move_of_a_dark_fixture_is_dark_and_of_a_lit_one_live():
    cues = {"1": DARK, "2": a_cue({"101": {"Pan": 10}}), "3": LIT, "4": a_cue({"101": {"Pan": 20}})}
    assert moves(cues) == [("2", ("Pan",), "dark"), ("4", ("Pan",), "live")]


def test_a_value_that_is_stored_as_it_was_is_no_move():
    assert moves({"1": LIT, "2": a_cue({"101": {"Pan": 50}})}) == []


def test_a_move_on_the_way_up_is_live_unless_it_is_over_before_the_light_comes():
    def up(pan, dimmer):
        return {"1": DARK, "2": a_cue({"101": {"Pan": pan, "Dimmer": dimmer}})}

    assert moves(up(10, 80))[0][2] == "live"
    late = {"level": 80, "delay": 3}
    assert moves(up(10, late))[0][2] == "dark"  # the move takes the 3 s of the cue
    assert moves(up({"level": 10, "fade": 3.5}, late))[0][2] == "live"


def test_a_move_on_the_way_down_is_live_unless_it_waits_for_the_light_to_go():
    def down(pan):
        return {"1": LIT, "2": a_cue({"101": {"Pan": pan, "Dimmer": {"level": 0, "fade": 2}}})}

    assert moves(down(10))[0][2] == "live"
    assert moves(down({"level": 10, "delay": 2}))[0][2] == "dark"


def test_a_desk_that_presets_dark_fixtures_has_moved_before_the_light_comes():
    cues = {"1": DARK, "2": a_cue({"101": {"Pan": 10, "Dimmer": 80}})}
    assert moves(cues, dark_moves="automatic")[0][2] == "dark"


def lit(levels, channels, cells=None):
    tree = a_rig(
        fixture_types={"t": a_type(*channels, mode="m", cells=cells)},
        patch={"5": a_fixture("t", "m")},
    )
    rig = rig_of(decode_show(as_bytes(tree)))
    return is_lit(
        by_fixture(rig.channels)["5"],
        lambda key, name: millionths(levels.get(key, {}).get(name, 0)),
    )


SHUTTER = a_channel(
    "Shutter1",
    2,
    functions=[{"name": "Closed", "from": 0, "to": 10}, {"name": "Open", "from": 10, "to": 100}],
)
RED = a_channel("ColorAdd_R", 3)


@pytest.mark.parametrize(
    ("levels", "channels", "expected"),
    [
        ({"Dimmer": 1}, [a_channel()], True),
        ({"Dimmer": 0}, [a_channel()], False),
        ({"Dimmer": 50, "Shutter1": 5}, [a_channel(), SHUTTER], False),
        ({"Dimmer": 50, "Shutter1": 10}, [a_channel(), SHUTTER], True),
        ({"Dimmer": 50}, [a_channel(), RED], True),
        ({"ColorAdd_R": 1}, [RED], True),
        ({"ColorAdd_R": 0}, [RED], False),
        ({"Pan": 50}, [a_channel("Pan", 1)], False),
    ],
)
def test_a_fixture_is_dark_without_intensity_behind_a_shutter_or_without_emitters(
    levels, channels, expected
):
    assert lit({"5": levels}, channels) is expected


def test_a_cell_is_lit_by_itself_or_behind_the_intensity_of_its_fixture():
    cells = {"1": [RED], "2": [RED]}
    assert lit({"5": {"Dimmer": 50}, "5.2": {"ColorAdd_R": 9}}, [a_channel()], cells)
    assert not lit({"5": {"Dimmer": 0}, "5.2": {"ColorAdd_R": 9}}, [a_channel()], cells)
    assert not lit({"5": {"Dimmer": 50}}, [a_channel()], cells)
    assert lit({"5.1": {"Dimmer": 50}}, [a_channel("Pan", 1)], {"1": [a_channel()]})


@settings(max_examples=100, deadline=None)
@given(st.integers(0, 2**48))
def test_looks_of_some_fixtures_are_columns_of_the_whole(seed):
    show = decode_show(as_bytes(shows.a_show(random.Random(seed))))
    whole = table_of(track_list(show, "1"))
    some = table_of(track_fixtures(show, "1", {"101", "2", "999"}))
    for column, (key, name) in enumerate(some.columns.parameters):
        assert key.partition(".")[0] in {"101", "2", "999"}
        of_whole = whole.columns.index[key][name]
        assert some.levels[:, column].tolist() == whole.levels[:, of_whole].tolist()
