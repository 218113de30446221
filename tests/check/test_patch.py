"""Footprints keep within their universe and out of each other's way."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvault.check.patch import (
    find_breaks_without_an_address,
    find_footprints_past_the_end,
    find_overlaps,
    find_slots_taken_twice,
    footprints_of,
)
from showvault.show.model import Cell, Channel, Mode
from tests.builders import Tree, a_channel, a_fixture, a_show, a_type
from tests.check.rules import found, sentences


def a_patch(*fixtures: Tree, **types: Tree) -> Tree:
    """Fixtures numbered from 1; type "of9" takes nine slots, and so on."""
    sizes = {f"of{size}": a_type(a_channel("Dimmer", size)) for size in (1, 2, 9, 512)}
    none = {"modes": {"8 bit": {"channels": [{"attribute": "Dimmer", "slots": []}]}}}
    return a_show(
        fixture_types={**sizes, "of0": none, **types},
        patch={str(number): fixture for number, fixture in enumerate(fixtures, start=1)},
    )


def test_a_footprint_reaches_to_the_last_slot_of_each_break_cells_included() -> None:
    """GDTF 1.2, tables 49 and 58: the footprint is counted for each break."""
    mode = Mode(
        channels=[
            Channel(attribute="Dimmer", slots=[1, 2]),
            Channel(attribute="Pan", slots=[7, 8]),
            Channel(attribute="Zoom", slots=[1], break_=2),
            Channel(attribute="Iris", slots=[], break_=3),
        ],
        cells={"1": Cell(channels=[Channel(attribute="ColorAdd_R", slots=[12])])},
    )
    assert footprints_of(mode) == {1: 12, 2: 1, 3: 0}


@pytest.mark.parametrize(
    ("size", "address", "past"),
    [
        (1, 512, False),
        (2, 511, False),
        (2, 512, True),
        (9, 504, False),
        (9, 505, True),
        (512, 1, False),
        (512, 2, True),
        (0, 512, False),
    ],
)
def test_a_footprint_past_address_512_is_an_error(size: int, address: int, past: bool) -> None:
    """ANSI E1.11 (DMX512-A): addresses 1 to 512; address + footprint - 1 must not pass it."""
    show = a_patch(a_fixture(f"of{size}", address=address))
    expected = [("error", "past-512", "/patch/1/addresses/0")]
    assert found(find_footprints_past_the_end, show) == (expected if past else [])


def test_footprints_that_touch_do_not_overlap() -> None:
    show = a_patch(a_fixture("of9", address=1), a_fixture("of9", address=10))
    assert found(find_overlaps, show) == []


def test_footprints_that_share_an_address_are_an_error_that_names_the_other() -> None:
    show = a_patch(a_fixture("of9", address=9), a_fixture("of9", address=1))
    assert found(find_overlaps, show) == [("error", "footprint-overlap", "/patch/1/addresses/0")]
    assert sentences(find_overlaps, show) == [
        "fixture 1, start address 1: universe 1, addresses 9 to 17: the footprint overlaps that of "
        "fixture 2"
    ]


def test_footprints_in_different_universes_do_not_overlap() -> None:
    show = a_patch(a_fixture("of9"), a_fixture("of9", universe=2))
    assert found(find_overlaps, show) == []


def test_two_fixtures_of_one_type_at_one_address_are_meant() -> None:
    """A deliberate pair: common practice, no source."""
    show = a_patch(*[a_fixture("of9", address=5)] * 3, a_fixture("of1", address=5))
    assert found(find_overlaps, show) == [
        ("note", "shared-address", "/patch/2/addresses/0"),
        ("note", "shared-address", "/patch/3/addresses/0"),
        ("error", "footprint-overlap", "/patch/4/addresses/0"),
    ]


def test_a_footprint_of_nothing_overlaps_nothing() -> None:
    """ANSI E1.20: a footprint of 0 has no start address of its own."""
    assert found(find_overlaps, a_patch(a_fixture("of0"), a_fixture("of9"))) == []


def test_a_fixture_may_overlap_through_its_second_break() -> None:
    two = a_type(a_channel("Dimmer", 1), a_channel("Zoom", 1, 2, **{"break": 2}))
    fixture = a_fixture("two", address=100)
    fixture["addresses"].append({"universe": 1, "address": 4, "break": 2})
    show = a_patch(a_fixture("of9"), fixture, two=two)
    assert found(find_overlaps, show) == [("error", "footprint-overlap", "/patch/2/addresses/1")]


spans = st.tuples(st.integers(1, 2), st.integers(1, 30), st.sampled_from(["of1", "of2", "of9"]))


@given(st.lists(spans, max_size=8))
def test_overlaps_are_those_that_a_look_at_every_address_finds(placed: list) -> None:
    """The reference marks each address in a table, one fixture after the other."""
    show = a_patch(*(a_fixture(of, universe=u, address=a) for u, a, of in placed))
    taken: dict[tuple[int, int], list[int]] = {}
    for number, (universe, address, of) in enumerate(placed, start=1):
        for at in range(address, address + int(of[2:])):
            taken.setdefault((universe, at), []).append(number)
    pairs = {
        tuple(sorted((a, b)))
        for numbers in taken.values()
        for a in numbers
        for b in numbers
        if a < b
    }
    meant = {(a, b) for a, b in pairs if placed[a - 1] == placed[b - 1]}
    told = {"error": set(), "note": set()}
    for severity, _, pointer in found(find_overlaps, show):
        told[severity].add(int(pointer.split("/")[2]))

    def begins_later(pair: tuple[int, int]) -> int:
        return max(pair, key=lambda number: (placed[number - 1][1], number))

    assert told["error"] == {begins_later(pair) for pair in pairs - meant}
    assert told["note"] == {begins_later(pair) for pair in meant}


def test_a_break_without_a_start_address_and_one_too_many_are_warnings() -> None:
    two = a_type(a_channel("Dimmer", 1), a_channel("Zoom", 1, **{"break": 2}))
    spare = a_fixture("of1")
    spare["addresses"].append({"universe": 1, "address": 9, "break": 3})
    show = a_patch(a_fixture("two"), spare, two=two)
    assert found(find_breaks_without_an_address, show) == [
        ("warning", "break-not-patched", "/patch/1"),
        ("warning", "spare-address", "/patch/2/addresses/1"),
    ]


def test_two_channels_on_one_slot_of_a_mode_are_a_warning() -> None:
    twice = a_type(
        a_channel("Dimmer", 1, 2),
        a_channel("Pan", 2),
        a_channel("Tilt", 2, **{"break": 2}),
        cells={"1": [a_channel("ColorAdd_R", 1)]},
    )
    show = a_patch(twice=twice)
    assert found(find_slots_taken_twice, show) == [
        ("warning", "slot-taken-twice", "/fixture_types/twice/modes/8 bit/channels/1"),
        ("warning", "slot-taken-twice", "/fixture_types/twice/modes/8 bit/cells/1/channels/0"),
    ]


def test_thousands_of_fixtures_at_one_address_are_one_finding_each_that_counts_the_others() -> None:
    told = sentences(find_overlaps, a_patch(*[a_fixture("of9", address=5)] * 2000))
    assert len(told) == 1999
    assert told[-1].endswith("and 1991 more of the same type")
