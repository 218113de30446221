import json
from dataclasses import replace

from showvault.files.reading import read_settled
from showvault.flows.incoming import read_incoming
from showvault.flows.production import say_another_production
from showvault.interchange.registry import choose_reader
from tests.flows.rooms import Room, a_save


def incoming(room: Room, data: bytes, name: str):
    return read_incoming(read_settled(room.save(data, name)), choose_reader)


def another(title: str) -> bytes:
    show = json.loads(a_save(1, title=title))
    show["cue_lists"] = {"1": {"cues": {str(n): {"label": f"other {n}"} for n in range(40)}}}
    show["patch"] = {}
    show["fixture_types"] = {}
    return json.dumps(show).encode()


def tree_of(room: Room):
    kept = room.keep(room.save(a_save(50)))
    return room.vault.store.tree(kept.version.commit)


def test_a_show_of_another_title_and_other_cues_is_another_production(room: Room):
    tree = tree_of(room)
    said = say_another_production(incoming(room, another("Dawn"), "x.json"), tree, room.vault.store)
    assert "another production ('Dawn', not 'Evening')" in said


def test_the_same_title_the_same_cues_or_no_title_are_the_same_production(room: Room):
    tree, store = tree_of(room), room.vault.store
    for data in (another("Evening"), a_save(60, title="Dawn"), another("")):
        assert say_another_production(incoming(room, data, "x.json"), tree, store) == ""


def test_what_is_no_show_and_a_vault_without_one_are_no_other_production(room: Room):
    tree, store = tree_of(room), room.vault.store
    one = incoming(room, another("Dawn"), "x.json")
    assert say_another_production(replace(one, recut=None), tree, store) == ""
    assert say_another_production(one, {}, store) == ""
