"""The published form of a comparison; the schema is held with jsonschema (2020-12)."""

import json

import jsonschema
import msgspec

from showvault.compare.json_form import comparison_as_json, comparison_schema
from showvault.review.wording import say_change
from tests.builders import Tree, a_cue, a_list, a_show
from tests.compare.pairs import comparison_of


def published(before: Tree, after: Tree) -> list[Tree]:
    """Return the changes as another program reads them, held against the schema."""
    form = comparison_as_json(comparison_of(before, after), say_change)
    encoded = msgspec.json.Encoder(decimal_format="number").encode({"old": "a", "new": "b", **form})
    read = json.loads(encoded)
    jsonschema.validate(read, comparison_schema(), cls=jsonschema.Draft202012Validator)
    return read["changes"]


def test_a_level_stands_with_its_cue_fixture_and_values():
    before = a_show(cue_lists={"1": a_list({"12.5": a_cue({"101": {"Dimmer": 50}})})})
    after = a_show(cue_lists={"1": a_list({"12.5": a_cue({"101": {"Dimmer": 62.5}})})})
    assert published(before, after) == [
        {
            "object": "cue",
            "id": "12.5",
            "list": "1",
            "change": "changed",
            "fixture": "101",
            "attribute": "Dimmer",
            "pointer": "/cue_lists/1/cues/12.5/levels/101/Dimmer",
            "before": 50,
            "after": 62.5,
            "text": "list 1 cue 12.5: fixture 101 intensity 50 → 62.5 %",
        }
    ]


def test_a_field_stands_with_its_name_and_null_for_what_is_not_there():
    (change,) = published(a_show(), a_show(venue="Barn"))
    assert (change["object"], change["field"], change["before"], change["after"]) == (
        "show",
        "venue",
        None,
        "Barn",
    )


def test_a_type_and_its_mode_exchanged_together_stand_as_one_change():
    (change,) = published(
        a_show(patch={"101": {"type": "wash", "mode": "16 bit"}}),
        a_show(patch={"101": {"type": "spot", "mode": "9 bit"}}),
    )
    assert (change["field"], change["before"], change["after"]) == ("type", "wash", "spot")
    assert change["along"] == [
        {"field": "mode", "pointer": "/patch/101/mode", "before": "16 bit", "after": "9 bit"}
    ]
    assert change["text"] == "fixture 101: type wash → spot, mode 16 bit → 9 bit"


def test_an_added_thing_stands_whole():
    (change,) = published(a_show(), a_show(groups={"1.1": {"name": "F", "fixtures": [1]}}))
    assert (change["change"], change["id"]) == ("added", "1.1")
    assert change["after"] == {"name": "F", "fixtures": [1]}


def test_a_removed_thing_stands_whole():
    (change,) = published(a_show(macros={"1": {"name": "M", "steps": ["a"]}}), a_show())
    assert (change["change"], change["before"]) == ("removed", {"name": "M", "steps": ["a"]})


def test_the_schema_is_one_that_the_specification_allows():
    jsonschema.Draft202012Validator.check_schema(comparison_schema())


def test_the_schema_refuses_a_change_without_its_place():
    validator = jsonschema.Draft202012Validator(comparison_schema())
    broken = {"object": "cue", "id": "1", "change": "changed", "pointer": "", "text": ""}
    assert not validator.is_valid({"old": "", "new": "", "changes": [broken]})
