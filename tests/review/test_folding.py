"""Many changes in few true sentences. The wording is common practice without a published source."""

import copy
import json
import os
import random
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showvault.compare.changes import Changed
from showvault.compare.differ import compare_shows
from showvault.review.folding import fold, unfold
from showvault.review.review import review_shows
from showvault.review.review_json import review_as_json
from showvault.review.watching import warn_first, watch_first
from showvault.show.addressing import cue_order
from showvault.show.parts import parts_of_file
from showvault.show.reading import decode_show
from tests.builders import (
    a_channel,
    a_cue,
    a_fixture,
    a_full_show,
    a_show_of_cues,
    a_type,
    as_bytes,
)
from tests.look import shows
from tests.look.sessions import edit

MANY = settings(max_examples=int(os.environ.get("SHOWVAULT_REVIEWS", "80")), deadline=None)
SAMPLES = Path(__file__).parents[2] / "sample_shows"


def review_of(one, other):
    comparison = compare_shows(parts_of_file(one), parts_of_file(other))
    return review_shows(decode_show(one), decode_show(other), comparison)


def sentences(before, after):
    return [sentence.text for sentence in fold(review_of(as_bytes(before), as_bytes(after)))]


def edited(before, edit_it):
    after = copy.deepcopy(before)
    edit_it(after)
    return after


def cues_of(show):
    return show["cue_lists"]["1"]["cues"]


def a_show_of_washes(cues, **sections):
    """Washes 101 to 112 and these cues of list 1."""
    wash = a_type(
        a_channel("Dimmer", 1),
        a_channel("ColorAdd_R", 2),
        a_channel("ColorAdd_G", 3),
        a_channel("Pan", 4),
        a_channel("Tilt", 5),
        mode="m",
    )
    patch = {str(n): a_fixture("wash", "m", address=1 + 5 * (n - 101)) for n in range(101, 113)}
    return a_show_of_cues(cues, fixture_types={"wash": wash}, patch=patch, **sections)


def washes(level, numbers=range(101, 109), attribute="Dimmer"):
    return {str(n): {attribute: level} for n in numbers}


def test_one_step_in_a_run_of_cues_is_one_sentence():
    before = a_show_of_washes({str(n): a_cue(washes(20 + 7 * n)) for n in range(1, 6)})
    after = a_show_of_washes({str(n): a_cue(washes(10 + 7 * n)) for n in range(1, 6)})
    assert sentences(before, after) == [
        "list 1 cues 1–5: fixtures 101–108 intensity −10 points",
    ]


def test_one_new_value_and_one_ratio_are_one_sentence_each():
    before = a_show_of_washes({"1": a_cue({str(n): {"Dimmer": n - 90} for n in range(101, 105)})})
    same = a_show_of_washes({"1": a_cue(washes(70, range(101, 105)))})
    assert sentences(before, same) == ["list 1 cue 1: fixtures 101–104 intensity now 70 %"]
    half = a_show_of_washes(
        {"1": a_cue({str(n): {"Dimmer": (n - 90) / 2} for n in range(101, 105)})}
    )
    assert sentences(before, half) == ["list 1 cue 1: fixtures 101–104 intensity × 0.5"]


def test_fixtures_are_a_group_by_name_or_the_odd_ones_or_ranges():
    groups = {"1": {"name": "Front wash", "fixtures": [104, 103, 102, 101]}}

    def told(numbers):
        before = a_show_of_washes({"1": a_cue(washes(10, numbers))}, groups=groups)
        after = a_show_of_washes({"1": a_cue(washes(20, numbers))}, groups=groups)
        (sentence,) = sentences(before, after)
        return sentence.removeprefix("list 1 cue 1: ").removesuffix(" intensity 10 → 20 %")

    assert told(range(101, 105)) == "group “Front wash” (101–104)"
    assert told(range(101, 112, 2)) == "odd fixtures 101–111"
    assert told(range(102, 113, 2)) == "even fixtures 102–112"
    assert told([101, 102, 103, 107, 108, 109, 112]) == "fixtures 101–103, 107–109, 112"


def test_a_colour_is_one_thing_by_the_names_of_its_presets():
    presets = {
        "Color": {
            place: {"name": name, "types": {"wash": {"ColorAdd_R": red, "ColorAdd_G": 60}}}
            for place, name, red in (("1.3", "Amber", 100), ("1.4", "Straw", 90))
        }
    }

    def show(place):
        reference = {"preset": f"Color {place}"}
        colour = {"ColorAdd_R": reference, "ColorAdd_G": reference}
        levels = {str(n): {**colour, "Dimmer": 50} for n in (101, 102)}
        return a_show_of_washes({"1": a_cue(levels)}, presets=presets)

    assert sentences(show("1.3"), show("1.4")) == [
        "list 1 cue 1: fixtures 101, 102 colour “Amber” → “Straw”"
    ]


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ("Gobo 1.2", "Gobo 1.3", "Gobo1 “Breakup” → “Leaves”"),
        (None, "Gobo 1.3", "Gobo1 now stored: “Leaves”"),
        ("Gobo 1.2", None, "Gobo1 no longer stored (was “Breakup”)"),
        ("Gobo 1.2", "Gobo 1.4", "Gobo1 “Breakup” → Gobo preset page 1 slot 4"),
        ("Gobo 1.2", 50, "Gobo1 Gobo “Breakup” → 50 %"),
        ("Gobo 1.2", "Beam 1", "Gobo1 “Breakup” → Beam “Leaves”"),
        # two presets of one name are told apart by their places
        (
            "Gobo 1.3",
            "Gobo 1.5",
            "Gobo1 Gobo preset page 1 slot 3 → Gobo preset page 1 slot 5",
        ),
    ],
)
def test_a_preset_of_any_class_is_said_by_its_name(before, after, said):
    held = {"types": {"wash": {"Gobo1": 40}}}
    named = (("1.2", "Breakup"), ("1.3", "Leaves"), ("1.5", "Leaves"))
    presets = {
        "Gobo": {"1.4": held, **{place: {"name": name, **held} for place, name in named}},
        "Beam": {"1": {"name": "Leaves", **held}},
    }

    def show(value):
        stored = {"preset": value} if isinstance(value, str) else value
        gobo = {} if stored is None else {"Gobo1": stored}
        return a_show_of_washes({"1": a_cue({"101": {"Dimmer": 50, **gobo}})}, presets=presets)

    (text,) = sentences(show(before), show(after))
    assert text.startswith(f"list 1 cue 1: fixture 101 {said}")


def coloured(dimmer, red, green=10):
    levels = {
        str(n): {"ColorAdd_R": red, "ColorAdd_G": green, "Dimmer": level}
        for n, level in zip((101, 102), dimmer, strict=True)
    }
    return a_show_of_washes({"1": a_cue(levels)})


def test_what_differs_in_the_dark_is_not_told_as_seen():
    def told(*dimmer):
        return sentences(coloured(dimmer, 40), coloured(dimmer, 50))

    where = "list 1 cue 1: fixtures 101, 102 red 40 → 50 %"
    assert told(50, 50) == [where]
    assert told(50, 0) == [f"{where} (1 of the 2 lit)"]
    assert told(0, 0) == [f"{where} (in the dark)"]


def test_a_colour_without_a_name_is_told_by_its_first_values():
    (text,) = sentences(coloured((50, 50), 40), coloured((50, 50), 50, 30))
    assert text == (
        "list 1 cue 1: fixtures 101, 102 colour changed (fixture 101: green 10 → 30 % and 1 more)"
    )


def test_a_reference_that_became_a_plain_value_of_the_same_size_no_longer_follows():
    presets = {"Color": {"1.3": {"name": "Amber", "all": {"ColorAdd_R": 62.5, "ColorAdd_G": 7}}}}
    reference = {"preset": "Color 1.3"}

    def show(red, green):
        levels = {"101": {"ColorAdd_R": red, "ColorAdd_G": green}}
        return a_show_of_washes({"1": a_cue(levels)}, presets=presets)

    assert sentences(show(reference, reference), show(62.5, 7)) == [
        "list 1 cue 1: fixture 101 colour looks the same and no longer follows Color “Amber”"
    ]
    assert "no longer follows" not in sentences(show(reference, reference), show(62.5, 8))[0]


def test_a_change_that_the_next_cue_puts_back_is_one_edit_of_one_cue():
    cues = {str(n): a_cue() for n in range(1, 5)}
    cues["1"] = a_cue(washes(50, (101, 102)))
    before = a_show_of_washes(cues)

    def cue_only(show):
        cues_of(show)["2"]["levels"] = washes(70, (101, 102))
        cues_of(show)["3"]["levels"] = washes(50, (101, 102))

    (sentence,) = fold(review_of(as_bytes(before), as_bytes(edited(before, cue_only))))
    assert sentence.text == (
        "list 1 cue 2 alone (put back in cue 3): fixtures 101, 102 intensity now stored: 70 %"
    )
    assert len(sentence.changes) == 4


def test_another_value_in_the_next_cue_is_no_cue_only_edit():
    cues = {str(n): a_cue() for n in range(1, 5)}
    before = a_show_of_washes(cues)

    def two_edits(show):
        cues_of(show)["2"]["levels"] = washes(70, (101,))
        cues_of(show)["3"]["levels"] = washes(50, (101,))

    assert not any("alone" in text for text in sentences(before, edited(before, two_edits)))


def test_an_edit_of_one_cue_says_how_far_it_tracks():
    cues = {str(n): a_cue() for n in range(1, 7)}
    cues["5"] = a_cue(washes(0, (101,)))
    before = a_show_of_washes(cues)
    after = edited(before, lambda show: cues_of(show)["2"].update(levels=washes(70, (101,))))
    assert sentences(before, after)[0].endswith(" (tracks 2–4, stops at cue 5)")


def test_a_preset_is_one_sentence_with_the_cues_it_is_seen_in():
    def show(pan, tilt, lit=(2, 3, 4)):
        held = {str(n): {"Pan": pan, "Tilt": tilt} for n in range(101, 105)}
        presets = {"Position": {"7": {"name": "Centre stage", "levels": held}}}
        reference = {"preset": "Position 7"}
        levels = {str(n): {"Pan": reference, "Tilt": reference} for n in range(101, 105)}
        cues = {str(n): a_cue(washes(50 if n in lit else 0, (101,))) for n in range(1, 5)}
        for number, of_fixture in levels.items():
            cues["2"]["levels"].setdefault(number, {}).update(of_fixture)
        return a_show_of_washes(cues, presets=presets)

    def told(*lit):
        (text,) = sentences(show(10, 10, lit), show(20, 30, lit))
        start = (
            "Position preset 7 “Centre stage” re-focused: fixtures 101–104 "
            "(fixture 101 pan 10 → 20 % and 7 more); "
        )
        assert text.startswith(start)
        return text.removeprefix(start)

    assert told(2, 3, 4) == "seen in 3 cues: list 1 cues 2–4"
    assert told(3) == "seen in list 1 cue 3; in the dark in 2 more"
    assert told() == "in the dark alone, in 3 cues: list 1 cues 2–4"


def test_a_cue_that_was_added_is_seen_in_itself_and_also_where_it_tracks():
    before = a_show_of_washes({"1": a_cue(washes(50, (101,))), "3": a_cue({})})

    def insert(show):
        cues_of(show)["2"] = a_cue(washes(70, (101,)), label="Rain")

    (text,) = sentences(before, edited(before, insert))
    assert text == "list 1 cue 2 added: “Rain”, fixture 101; seen also in list 1 cue 3"


def test_labels_of_many_cues_and_a_rig_in_another_universe_are_one_sentence_each():
    before = a_show_of_washes({str(n): a_cue(label=f"Cue {n}") for n in range(1, 6)})

    def tidy(show):
        for number in ("1", "2", "4"):
            cues_of(show)[number]["label"] = f"Scene {number}"
        for fixture in show["patch"].values():
            fixture["addresses"][0]["universe"] = 4

    assert sentences(before, edited(before, tidy)) == [
        "fixtures 101–112: universe 1 → 4, addresses as they were",
        "list 1 cues 1, 2, 4: label changed in 3; cue 1: “Cue 1” → “Scene 1”",
    ]


def test_several_fields_of_one_thing_are_told_with_what_became_of_one_of_them():
    before = a_show_of_washes({"1": a_cue()})

    def rename(show):
        show["patch"]["101"].update(name="Spare", notes="n" * 200)

    assert sentences(before, edited(before, rename)) == [
        "fixture 101: name none → “Spare”; notes changed"
    ]


def test_what_looks_different_comes_before_what_plays_and_what_does_neither():
    before = a_full_show()

    def session(show):
        cues_of(show)["2"].update(label="Rain")
        cues_of(show)["2.5"].update(fade_in=9)
        cues_of(show)["1"]["levels"]["1"]["Dimmer"] = 40

    review = review_of(as_bytes(before), as_bytes(edited(before, session)))
    assert [sentence.kind for sentence in fold(review)] == ["looks", "plays", "neither"]


def test_a_follow_is_told_with_what_follows_and_an_effect_with_its_cues():
    before = a_full_show()

    def session(show):
        cues_of(show)["2"]["follow"]["seconds"] = 3.1
        show["effects"]["1.1"]["cycle_seconds"] = 3

    told = sentences(before, edited(before, session))
    assert told[0].endswith("; started in list 1 cue 2")
    assert told[1].endswith("; with all that follows 17 s → 18.1 s")


def test_what_to_watch_first_is_where_most_of_the_stage_differs():
    scenes = {str(n): a_cue(scene="1.1" if n < 4 else "1.2") for n in range(1, 7)}
    before = a_show_of_washes(scenes)

    def session(show):
        cues_of(show)["2"]["levels"] = washes(30, (101,))
        cues_of(show)["4"]["levels"] = washes(30, range(101, 107))

    first, second = watch_first(review_of(as_bytes(before), as_bytes(edited(before, session))))
    assert first.text == "scene 1.2, list 1 cues 4–6: up to 6 of 12 fixtures look different"
    assert (second.scene, second.share) == ("1.1", 1 / 12)


def test_what_a_dark_fixture_does_is_not_watched():
    before = a_show_of_washes({"1": a_cue(), "2": a_cue()})
    moved = washes(20, (101,), "Pan")
    after = edited(before, lambda show: cues_of(show)["2"].update(levels=moved))
    review = review_of(as_bytes(before), as_bytes(after))
    assert len(review.effects) == 1
    assert watch_first(review) == []


def test_a_few_times_are_listed_in_the_order_of_their_cues():
    before = a_show_of_washes({str(n): a_cue() for n in range(1, 4)})

    def slower(show):
        for number in ("1", "2", "3"):
            cues_of(show)[number]["fade_in"] = 4 + int(number)

    assert sentences(before, edited(before, slower)) == [
        "list 1 cues 1–3: fade in 3 → 5 s, 3 → 6 s, 3 → 7 s"
    ]


def test_light_that_is_gone_is_said_once_for_a_run_of_cues():
    cues = {str(n): a_cue() for n in range(1, 5)}
    cues["1"] = a_cue(washes(50, (101, 102)))
    before = a_show_of_washes(cues)
    after = edited(before, lambda show: cues_of(show)["2"].update(levels=washes(0, (101, 102))))
    assert warn_first(review_of(as_bytes(before), as_bytes(after))) == [
        "list 1 cues 2–4: fixtures 101, 102 no longer lit"
    ]


@pytest.fixture(scope="module")
def overnight():
    names = ("harvest_musical_evening.json", "harvest_musical_morning.json")
    one, other = ((SAMPLES / name).read_bytes() for name in names)
    return review_of(one, other)


def test_an_overnight_session_fits_one_page(overnight):
    assert len(overnight.comparison.changes) > 250
    assert len(fold(overnight)) < 50


def test_the_sentences_of_a_review_name_their_changes_in_json(overnight):
    told = fold(overnight)
    form = review_as_json(overnight, told)
    assert [row["text"] for row in form["sentences"]] == [sentence.text for sentence in told]
    named = sorted(index for row in form["sentences"] for index in row["changes"])
    assert named == list(range(len(overnight.comparison.changes)))
    json.dumps(form["on_stage"])


def a_session(seed, edits):
    chance = random.Random(seed)
    before = shows.a_show(chance)
    after = copy.deepcopy(before)
    for _ in range(edits):
        edit(chance, after)
    if chance.random() < 0.5:
        trim(chance, after)
    return as_bytes(before), as_bytes(after)


def trim(chance, show):
    """Take the same off every plain intensity of some cues."""
    for cue in cues_of(show).values():
        for values in cue["levels"].values():
            if isinstance(values.get("Dimmer"), int) and values["Dimmer"] >= 10:
                values["Dimmer"] -= 10


@MANY
@given(st.integers(0, 2**48), st.integers(0, 12))
def test_unfolding_gives_back_every_change_once(seed, edits):
    review = review_of(*a_session(seed, edits))
    unfolded = [change for one in fold(review) for change in unfold(one, review.comparison)]
    assert len(unfolded) == len(review.comparison.changes)
    assert sorted(map(repr, unfolded)) == sorted(map(repr, review.comparison.changes))


_SENTENCE = re.compile(r"list (\S+) cues? ([\d., –]+?)( part \d+)?( alone \(.*?\))?: (.*)")
_FIXTURES = re.compile(
    r"(?:group “[^”]*” \((?P<group>[^)]*)\)|(?P<parity>odd|even) fixtures (?P<second>\d+–\d+)"
    r"|fixtures? (?P<plain>\d+(?: cell \d+)?(?:–\d+)?(?:, \d+(?: cell \d+)?(?:–\d+)?)*)) "
)


def cues_said(text, order):
    said = set()
    for piece in text.split(", "):
        first, _, last = piece.partition("–")
        start = order.index(first)
        said.update(order[start : order.index(last or first) + 1])
    return said


def fixtures_said(match):
    if match["second"]:
        first, last = match["second"].split("–")
        return {str(number) for number in range(int(first), int(last) + 1, 2)}
    said = set()
    for piece in (match["group"] or match["plain"]).split(", "):
        first, _, last = piece.replace(" cell ", ".").partition("–")
        if last:
            said.update(str(number) for number in range(int(first), int(last) + 1))
        else:
            said.add(first)
    return said


@MANY
@given(st.integers(0, 2**48), st.integers(1, 12))
def test_no_sentence_covers_a_cue_or_a_fixture_that_did_not_change(seed, edits):
    review = review_of(*a_session(seed, edits))
    for sentence in fold(review):
        changes = unfold(sentence, review.comparison)
        if not all(isinstance(c, Changed) and c.level and c.thing.kind == "cue" for c in changes):
            continue
        match = _SENTENCE.match(sentence.text)
        assert match, sentence.text
        cues = review.sides.after.cue_lists[match[1]].cues
        changed = {(change.thing.id, change.level[0]) for change in changes}
        fixtures = fixtures_said(_FIXTURES.match(match[5]))
        assert fixtures == {fixture for _, fixture in changed}, sentence.text
        if match[4]:
            continue  # a cue-only edit names the cue in which it is seen
        said = cues_said(match[2], sorted(cues, key=cue_order))
        assert said == {cue for cue, _ in changed}, sentence.text
        if "where stored" not in match[5]:
            assert changed == {(cue, fixture) for cue in said for fixture in fixtures}
