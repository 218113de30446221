import json

from showvault.flows.history import of_attribute, trace_thing
from showvault.report.history import history_text
from showvault.show.addressing import Thing
from tests.builders import a_cue, a_show_of_cues
from tests.flows.rooms import Room, a_save

CUE_1 = Thing("cue", "1", "1")


def history(room: Room, thing: Thing) -> list[tuple[int, str]]:
    moments = trace_thing(room.vault.store, thing, lambda version: version)
    return [(moment.version.number, moment.thing.id) for moment in moments]


def test_a_cue_is_followed_through_the_versions_that_changed_it_alone(room: Room):
    room.keep(room.save(a_save(50)))
    room.keep(room.save(a_save(65)))
    room.keep(room.save(a_save(65, notes="another thing changed")))
    room.keep(room.save(a_save(70)))
    assert history(room, CUE_1) == [(4, "1"), (2, "1"), (1, "1")]


def test_a_cue_is_followed_to_the_number_it_came_from(room: Room):
    show = json.loads(a_save(50))
    cues = show["cue_lists"]["1"]["cues"]
    cues["1"] |= {"label": "Storm breaks", "called_on": "door slam"}
    room.keep(room.save(json.dumps(show).encode()))
    cues["1"]["levels"]["1"]["Dimmer"] = 65
    room.keep(room.save(json.dumps(show).encode()))
    cues["101"] = cues.pop("1")
    room.keep(room.save(json.dumps(show).encode()))
    assert history(room, Thing("cue", "101", "1")) == [(3, "101"), (2, "1"), (1, "1")]


def test_a_cue_that_is_gone_has_a_history_that_ends(room: Room):
    show = json.loads(a_save(50))
    room.keep(room.save(json.dumps(show).encode()))
    del show["cue_lists"]["1"]["cues"]["7"]
    room.keep(room.save(json.dumps(show).encode()))
    assert history(room, Thing("cue", "7", "1")) == [(2, "7"), (1, "7")]


def test_an_attribute_alone_is_followed_through_what_became_of_it(room: Room):
    room.keep(room.save(a_save(50)))
    show = json.loads(a_save(50))
    show["cue_lists"]["1"]["cues"]["1"]["label"] = "another"
    room.keep(room.save(json.dumps(show).encode()))
    show["cue_lists"]["1"]["cues"]["1"]["levels"]["1"]["Dimmer"] = 65
    room.keep(room.save(json.dumps(show).encode()))
    moments = trace_thing(room.vault.store, CUE_1, lambda version: version)
    assert [moment.version.number for moment in of_attribute(moments, "dimmer")] == [3, 1]


def test_a_level_is_told_in_the_unit_of_the_fixture_type_of_then(room: Room):
    for pan in (25, 40):
        show = a_show_of_cues({"1": a_cue({"101": {"Dimmer": 50, "Pan": pan}})})
        room.keep(room.save(json.dumps(show).encode()))
    (newest, _) = trace_thing(room.vault.store, CUE_1, lambda version: version)
    assert "fixture 101 pan −135° → −54°" in history_text(CUE_1, [newest], room.clock())


def test_what_never_was_has_none(room: Room):
    room.keep(room.save(a_save(50)))
    assert history(room, Thing("cue", "999", "1")) == []


def test_what_changed_elsewhere_in_the_show_is_no_history_of_a_list(room: Room):
    """The list's own fields stand with those of the show in what is left of it without things."""
    room.keep(room.save(a_save(50)))
    room.keep(room.save(a_save(50, title="Another title")))
    show = json.loads(a_save(50, title="Another title"))
    show["cue_lists"]["1"]["name"] = "Act one"
    room.keep(room.save(json.dumps(show).encode()))
    assert history(room, Thing("cue_list", "1")) == [(3, "1"), (1, "1")]
