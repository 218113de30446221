"""The shows that ship with the program, held against the rules by a plain walk over their JSON.

The walk is written from the format's text, without the program's own checks.
"""

import json
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from showvault.check.finder import find_problems
from showvault.show.reading import decode_show, find_faults, judge_whole
from showvault.show.writing import write_show

SHOWS = Path(__file__).resolve().parents[2] / "sample_shows"
GOOD = ("lighthouse_play", "harvest_musical_evening", "harvest_musical_morning")
Json = dict[str, Any]


def read(name: str) -> bytes:
    return (SHOWS / f"{name}.json").read_bytes()


def show_of(name: str) -> Json:
    return json.loads(read(name))


def stored(show: Json) -> Iterator[tuple[str, str, str, Any]]:
    """Yield where it is, fixture or cell, attribute and value, of all that is stored in cues."""
    for list_number, cue_list in show["cue_lists"].items():
        for number, cue in cue_list["cues"].items():
            for part in (cue, *cue.get("parts", {}).values()):
                for fixture, values in part.get("levels", {}).items():
                    for attribute, value in values.items():
                        yield f"list {list_number} cue {number}", fixture, attribute, value


def channels(show: Json, key: str) -> list[Json]:
    number, _, cell = key.partition(".")
    fixture = show["patch"][number]
    mode = show["fixture_types"][fixture["type"]]["modes"][fixture["mode"]]
    return mode["cells"][cell]["channels"] if cell else mode["channels"]


def held(show: Json, preset: Json, key: str, attribute: str) -> bool:
    kind = show["patch"][key.partition(".")[0]]["type"]
    layers = (
        preset.get("levels", {}).get(key),
        preset.get("types", {}).get(kind),
        preset.get("all"),
    )
    return any(attribute in layer for layer in layers if layer)


@pytest.mark.parametrize("name", GOOD)
def test_a_sample_show_keeps_every_rule_of_the_format(name):
    assert find_faults(read(name)) == []
    decode_show(read(name))


@pytest.mark.parametrize("name", [*GOOD, "faulty"])
def test_a_sample_show_stands_in_canonical_form(name):
    assert write_show(json.loads(read(name), parse_float=Decimal)) == read(name)


@pytest.mark.parametrize("name", GOOD)
def test_everything_that_a_cue_stores_has_a_channel(name):
    show = show_of(name)
    for place, fixture, attribute, _ in stored(show):
        names = [channel["attribute"] for channel in channels(show, fixture)]
        assert attribute in names, (place, fixture, attribute)


@pytest.mark.parametrize("name", GOOD)
def test_every_preset_that_a_cue_uses_holds_something_for_the_fixture(name):
    show = show_of(name)
    used = 0
    for place, fixture, attribute, value in stored(show):
        if isinstance(value, dict) and "preset" in value:
            group, _, slot = value["preset"].partition(" ")
            assert held(show, show["presets"][group][slot], fixture, attribute), (place, fixture)
            used += 1
    assert used > 50


@pytest.mark.parametrize("name", GOOD)
def test_no_two_footprints_share_a_slot_and_none_passes_512(name):
    """Slots 1 to 512 in a universe: ANSI E1.11 (DMX512-A), from memory."""
    show = show_of(name)
    taken: dict[tuple[int, int], str] = {}
    for number, fixture in show["patch"].items():
        mode = show["fixture_types"][fixture["type"]]["modes"][fixture["mode"]]
        groups = [mode["channels"], *(cell["channels"] for cell in mode.get("cells", {}).values())]
        offsets = {slot for group in groups for channel in group for slot in channel["slots"]}
        for start in fixture["addresses"]:
            assert start["universe"] <= show["capacity"]["universes"]
            for offset in offsets:
                slot = (start["universe"], start["address"] + offset - 1)
                assert slot[1] <= 512
                assert taken.setdefault(slot, number) == number, (slot, number, taken[slot])


@pytest.mark.parametrize("name", GOOD)
def test_groups_links_and_effects_lead_to_things_that_exist(name):
    show = show_of(name)
    lists = show["cue_lists"]
    for group in show["groups"].values():
        assert all(str(fixture).partition(".")[0] in show["patch"] for fixture in group["fixtures"])
    for number, cue_list in lists.items():
        for cue in cue_list["cues"].values():
            for link in (*filter(None, [cue.get("link")]), *cue.get("also_go", [])):
                assert link["cue"] in lists[link.get("list", number)]["cues"]
            assert set(cue.get("effects", {})) <= set(show.get("effects", {}))
    assert all(playback["cue_list"] in lists for playback in show["playbacks"].values())


@pytest.mark.parametrize("name", GOOD)
def test_no_parameter_is_stored_in_two_parts_of_a_cue(name):
    for cue_list in show_of(name)["cue_lists"].values():
        for cue in cue_list["cues"].values():
            seen = set()
            for part in (cue, *cue.get("parts", {}).values()):
                for fixture, values in part.get("levels", {}).items():
                    assert not {(fixture, attribute) for attribute in values} & seen
                    seen |= {(fixture, attribute) for attribute in values}


@pytest.mark.parametrize("name", GOOD)
def test_a_cue_that_is_marked_as_a_block_stores_everything_in_use(name):
    for cue_list in show_of(name)["cue_lists"].values():
        in_use: set[tuple[str, str]] = set()
        cues = sorted(cue_list["cues"].items(), key=lambda item: Decimal(item[0]))
        for number, cue in cues:
            here = {
                (fixture, attribute)
                for part in (cue, *cue.get("parts", {}).values())
                for fixture, values in part.get("levels", {}).items()
                for attribute in values
            }
            in_use |= here
            assert not cue.get("block") or here == in_use, number


def test_the_morning_is_the_evening_after_one_night_of_work():
    evening, morning = show_of("harvest_musical_evening"), show_of("harvest_musical_morning")
    before, after = (set(show["cue_lists"]["1"]["cues"]) for show in (evening, morning))
    assert len(before) > 110
    assert {"34.2", "51.5", "98.5", "150", "156"} <= after - before
    assert {"72", "120", "126"} <= before - after
    assert morning["patch"]["108"]["type"] != evening["patch"]["108"]["type"]
    assert "1.20" in morning["presets"]["Color"] and "1.9" in evening["presets"]["Color"]


def test_the_half_written_show_is_the_beginning_of_the_evening():
    half, evening = read("half_written"), read("harvest_musical_evening")
    assert evening.startswith(half)
    assert judge_whole(half).state == "broken"


def test_the_faulty_show_is_understood_so_that_the_check_can_look_at_it():
    assert find_faults(read("faulty")) == []


def test_the_show_with_faulty_format_is_whole_and_every_fault_is_told():
    data = read("faulty_format")
    assert judge_whole(data).state == "whole"
    pointers = [fault.pointer for fault in find_faults(data)]
    assert len(pointers) == len(set(pointers)) == 21
    for pointer in (
        "/colour_of_the_desk",
        "/patch/0",
        "/patch/1/addresses/0/address",
        "/patch/2/addresses/0/universe",
        "/patch/4/mode",
        "/patch/5/name",
        "/presets/Sparkle",
        "/cue_lists/1/cues/1.2345",
        "/cue_lists/1/cues/12.50",
        "/cue_lists/1/cues/3/fade_in",
        "/playbacks/1/priority",
    ):
        assert pointer in pointers


@pytest.mark.parametrize("name", GOOD)
def test_the_check_finds_no_error_in_a_good_show(name):
    assert [one for one in find_problems(read(name)) if one.severity == "error"] == []


def test_the_check_finds_every_kind_of_mistake_in_the_faulty_show():
    """Each was put in by hand; where it stands is told by the show's own notes and labels."""
    found = {(one.severity, one.pointer) for one in find_problems(read("faulty"))}
    cues = "/cue_lists/1/cues"
    assert {
        ("error", f"{cues}/5/levels/95"),  # no such fixture
        ("error", f"{cues}/7/levels/1/Pan"),  # a dimmer has no pan
        ("error", f"{cues}/8/levels/41/ColorAdd_R"),  # the preset holds nothing for it
        ("error", f"{cues}/9/levels/31/ColorAdd_R"),  # no such preset
        ("error", f"{cues}/10/parts/2/levels/11/Dimmer"),  # stored in part 1 as well
        ("error", f"{cues}/11/link"),  # no such cue
        ("error", f"{cues}/12/also_go/0"),  # no such list
        ("error", f"{cues}/15/effects/4"),  # no such effect
        ("error", f"{cues}/18/levels/31.5"),  # no such cell
        ("error", "/groups/6/fixtures/2"),
        ("error", "/effects/1/fixtures/1"),
        ("error", "/submasters/2/levels/96"),
        ("error", "/presets/Color/7/levels/98"),
        ("error", "/playbacks/7/cue_list"),
        ("error", "/patch/47/type"),
        ("error", "/patch/48/mode"),
        ("error", "/patch/49/addresses/0/curve"),
        ("error", "/patch/42/addresses/0"),  # over 41
        ("error", "/patch/43/addresses/0"),  # past 512
        ("error", "/patch/50/addresses/0/universe"),  # the desk has one universe
        ("error", "/groups/3.30"),  # pages and slots of the desk
        ("error", "/playbacks/1.9"),
        ("warning", "/patch/46"),  # not patched
        ("warning", "/cue_lists/2"),  # empty
        ("warning", f"{cues}/41/follow"),  # after the last cue
        ("note", "/cue_lists/3/cues/1"),  # round in a loop
        ("note", "/patch/45/addresses/0"),  # a deliberate pair
    } <= found
