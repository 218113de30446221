"""Edits spliced into the text of a show file."""

import json

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from showvault.compare.sides import SHOW, Side
from showvault.show.addressing import Thing
from showvault.show.cutting import CutShow, cut_into_parts
from showvault.show.parts import parts_of
from showvault.show.splicing import KeptPart, splice_show
from showvault.show.trees import parse_part
from showvault.show.writing import write_show
from tests.builders import Tree, a_cue, a_full_show, a_show
from tests.strategies import shows, spellings


def cut(data: bytes) -> CutShow:
    found = cut_into_parts(data)
    assert found is not None
    return found


def spliced(data: bytes, wanted: Tree) -> bytes:
    """Turn one show into another: things of the same name and bytes stay, all else is written."""
    old, new = cut(data), Side(parts_of(cut(write_show(wanted))))
    before = Side(parts_of(old))
    parts: dict[Thing, Tree | KeptPart] = {}
    for thing in new.parts:
        same = thing in before.parts and before.tree(thing) == new.tree(thing)
        parts[thing] = KeptPart(old.names[thing]) if same else new.tree(thing)
    lists = {thing.id: new.tree(thing) for thing in new.cues}
    return splice_show(old, new.tree(SHOW), lists, parts)


def test_nothing_to_splice_gives_the_very_bytes():
    data = json.dumps(a_full_show(), indent=5).encode()
    assert spliced(data, a_full_show()) == data


def test_one_edit_changes_the_text_of_its_thing_alone():
    show = a_full_show()
    data = json.dumps(show, indent=3).encode()
    show["groups"]["1.1"]["name"] = "Bars"
    assert spliced(data, show) == data.replace(b'"name": "Wash"', b'"name": "Bars"')


def test_a_new_cue_stands_in_the_order_of_numbers_and_in_the_style_of_the_file():
    show = a_full_show()
    for indent, separators in ((4, None), (None, (",", ":")), (None, None)):
        data = json.dumps(show, indent=indent, separators=separators).encode()
        wanted = json.loads(data)
        cues = wanted["cue_lists"]["1"]["cues"]
        new = {"1": cues["1"], "1.5": a_cue({"1": {"Dimmer": 5}}), "2": cues["2"]}
        wanted["cue_lists"]["1"]["cues"] = {**new, "2.5": cues["2.5"]}
        assert (
            spliced(data, wanted)
            == json.dumps(wanted, indent=indent, separators=separators).encode()
        )


def test_a_part_may_move_to_another_number_with_its_bytes():
    data = json.dumps(a_full_show(), indent=2).encode()
    old = cut(data)
    side = Side(parts_of(old))
    parts: dict[Thing, Tree | KeptPart] = {
        thing: KeptPart(name) for thing, name in old.names.items()
    }
    parts[Thing("cue", "9", "1")] = parts.pop(Thing("cue", "2", "1"))
    lists = {thing.id: side.tree(thing) for thing in side.cues}
    written = parse_part(splice_show(old, side.tree(SHOW), lists, parts))
    assert list(written["cue_lists"]["1"]["cues"]) == ["1", "2.5", "9"]


def test_what_is_taken_out_leaves_no_comma_behind():
    show = a_full_show()
    data = json.dumps(show, indent=2).encode()
    del show["cue_lists"]["1"]["cues"]["2.5"]
    del show["title"]
    assert json.loads(spliced(data, show)) == show


@settings(deadline=None, suppress_health_check=list(HealthCheck), max_examples=100)
@given(shows.flatmap(lambda show: st.tuples(spellings(show), shows)))
def test_any_show_however_it_is_spelled_can_become_any_other(drawn: tuple[bytes, Tree]):
    data, wanted = drawn
    assert write_show(parse_part(spliced(data, wanted))) == write_show(wanted)


def test_a_show_without_anything_can_get_everything():
    data = json.dumps(a_show(), indent=2).encode()
    assert write_show(parse_part(spliced(data, a_full_show()))) == write_show(a_full_show())


def test_a_file_that_holds_nothing_at_all_gets_everything_on_lines_of_their_own():
    data = spliced(b"{}", a_full_show())
    assert write_show(parse_part(data)) == write_show(a_full_show())
    assert data.startswith(b'{\n  "format": "neutral-show",\n')


def test_where_a_file_keeps_no_order_a_new_cue_stands_at_its_end():
    """Somebody put cue 2 before cue 1: there is no place between them that would be right."""
    show = a_full_show()
    cues = show["cue_lists"]["1"]["cues"]
    show["cue_lists"]["1"]["cues"] = {number: cues[number] for number in ("2", "1", "2.5")}
    data = json.dumps(show, indent=2).encode()
    show["cue_lists"]["1"]["cues"]["1.5"] = a_cue({"1": {"Dimmer": 5}})
    assert spliced(data, show) == json.dumps(show, indent=2).encode()
