"""The published form of a review: JSON Schema 2020-12, validated with the library jsonschema."""

import copy
import json
import random
from pathlib import Path

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from showvault.compare.differ import compare_shows
from showvault.compare.json_form import comparison_as_json
from showvault.review.folding import fold
from showvault.review.review import review_shows
from showvault.review.review_json import review_as_json
from showvault.review.review_schema import review_schema
from showvault.review.wording import say_change
from showvault.show.parts import parts_of_file
from showvault.show.reading import decode_show
from tests.builders import as_bytes
from tests.look import shows
from tests.look.sessions import edit

SAMPLES = Path(__file__).parents[2] / "sample_shows"
VALID = Draft202012Validator(review_schema())


def printed(one, other):
    comparison = compare_shows(parts_of_file(one), parts_of_file(other))
    review = review_shows(decode_show(one), decode_show(other), comparison)
    form = {
        "old": "one",
        "new": "other",
        **comparison_as_json(comparison, say_change),
        **review_as_json(review, fold(review)),
    }
    return json.loads(msgspec.json.Encoder(decimal_format="number").encode(form))


def test_the_schema_is_a_schema():
    Draft202012Validator.check_schema(review_schema())


def test_an_overnight_review_keeps_the_published_form():
    names = ("harvest_musical_evening.json", "harvest_musical_morning.json")
    form = printed(*((SAMPLES / name).read_bytes() for name in names))
    assert list(VALID.iter_errors(form)) == []
    assert form.keys() <= review_schema()["properties"].keys()
    for section in ("on_stage", "plays", "sentences", "watch_first", "live_moves", "light"):
        known = review_schema()["properties"][section]["items"]["properties"]
        assert all(row.keys() <= known.keys() for row in form[section]), section


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 2**48))
def test_every_review_keeps_the_published_form(seed):
    chance = random.Random(seed)
    before = shows.a_show(chance)
    after = copy.deepcopy(before)
    for _ in range(6):
        edit(chance, after)
    assert list(VALID.iter_errors(printed(as_bytes(before), as_bytes(after)))) == []


@pytest.mark.parametrize(
    ("section", "row"),
    [
        ("on_stage", {"list": "1", "cue": "1", "parameters": []}),
        ("plays", {"field": "fade_in", "before": 1}),
        ("flashing", {"list": "1", "cue": "1", "by": "lamp", "fixtures": []}),
    ],
)
def test_a_row_that_lacks_something_does_not_keep_it(section, row):
    form = {"old": "one", "new": "other", "changes": [], section: [row]}
    assert list(VALID.iter_errors(form))
