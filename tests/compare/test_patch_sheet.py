"""Patches compared as patch sheets; limits from ANSI E1.11 and E1.31, the rest common practice."""

import copy

from showvault.compare.patch_sheet import (
    BeyondCapacity,
    NonDimExchange,
    Overlap,
    PatchComparison,
    UniverseMove,
    compare_patches,
)
from showvault.show.parts import parts_of_file
from showvault.show.writing import write_show
from tests.builders import Tree, a_dimmer_type, a_fixture, a_rig
from tests.compare.pairs import comparison_of


def sheet(before: Tree, after: Tree) -> PatchComparison:
    one, other = parts_of_file(write_show(before)), parts_of_file(write_show(after))
    return compare_patches(one, other, comparison_of(before, after))


def numbers(compared: PatchComparison) -> list[str]:
    return [(row.after or row.before).number for row in compared.rows]  # type: ignore[union-attr]


def test_equal_patches_have_no_rows():
    assert sheet(a_rig(), a_rig()) == PatchComparison()


def test_a_readdressed_fixture_is_one_row_with_old_and_new_address_and_footprint():
    after = a_rig()
    after["patch"]["101"]["addresses"] = [{"universe": 5, "address": 100}]
    (row,) = sheet(a_rig(), after).rows
    assert row.before is not None
    assert row.after is not None
    assert (row.after.spans[0].universe, row.after.spans[0].address) == (5, 100)
    assert row.after.spans[0].footprint == row.before.spans[0].footprint == 9


def test_a_rig_that_went_to_another_universe_is_one_move():
    after = a_rig()
    for number in ("101", "102", "103"):
        after["patch"][number]["addresses"][0]["universe"] = 7
    compared = sheet(a_rig(), after)
    assert compared.universe_moves == (UniverseMove(2, 7, ("101", "102", "103")),)
    assert numbers(compared) == ["101", "102", "103"]


def test_an_overlap_is_named_only_where_it_is_new():
    before = a_rig()
    before["patch"]["2"]["addresses"] = [{"universe": 2, "address": 9}]
    after = copy.deepcopy(before)
    after["patch"]["3"]["addresses"] = [{"universe": 2, "address": 1}]
    assert sheet(before, after).overlaps == (Overlap(2, 1, 1, ("3", "101")),)


def test_a_deliberate_pair_is_no_overlap():
    after = a_rig()
    after["patch"]["2"]["addresses"] = copy.deepcopy(after["patch"]["1"]["addresses"])
    assert sheet(a_rig(), after).overlaps == ()


def test_a_footprint_that_newly_runs_past_512_is_named():
    after = a_rig()
    after["patch"]["101"]["addresses"] = [{"universe": 2, "address": 510}]
    (past,) = sheet(a_rig(), after).past_the_end
    assert (past.fixture, past.span.last) == ("101", 518)
    assert sheet(after, after).past_the_end == ()


def test_a_dimmed_circuit_and_a_non_dim_one_exchanged_are_pointed_out():
    def rig(dimmed: int, non_dim: int) -> Tree:
        show = a_rig()
        show["fixture_types"]["motor"] = a_dimmer_type(hazards=["non_dim"])
        show["patch"]["90"] = a_fixture("motor", universe=3, address=non_dim, name="Ball")
        show["patch"]["91"] = a_fixture("dimmer", universe=3, address=dimmed, name="Lamp")
        return show

    assert sheet(rig(1, 2), rig(2, 1)).exchanged == (
        NonDimExchange(3, 1, 1, ("91",), ("90",), True),
        NonDimExchange(3, 2, 2, ("90",), ("91",), False),
    )


def test_a_universe_that_the_desk_does_not_have_is_named_where_it_is_new():
    before, after = a_rig(capacity={"universes": 2}), a_rig(capacity={"universes": 2})
    after["patch"]["1"]["addresses"] = [{"universe": 3, "address": 1}]
    assert sheet(before, after).beyond_capacity == (BeyondCapacity(3, 2, ("1",)),)
    assert sheet(after, after).beyond_capacity == ()


def test_a_desk_that_shrank_has_too_few_universes():
    before, after = a_rig(capacity={"universes": 2}), a_rig(capacity={"universes": 1})
    (beyond,) = sheet(before, after).beyond_capacity
    assert (beyond.universe, beyond.capacity) == (2, 1)


def test_a_renumbered_fixture_is_one_row():
    before, after = a_rig(), a_rig()
    before["patch"]["4"]["name"] = after["patch"]["4"]["name"] = "Special"
    after["patch"]["44"] = after["patch"].pop("4")
    (row,) = sheet(before, after).rows
    assert row.before is not None
    assert row.after is not None
    assert (row.before.number, row.after.number) == ("4", "44")


def test_an_exchanged_type_shows_the_new_footprint():
    after = a_rig()
    after["patch"]["1"] |= {"type": "wash", "mode": "16 bit"}
    (row,) = sheet(a_rig(), after).rows
    assert row.after is not None
    assert row.after.spans[0].footprint == 9
