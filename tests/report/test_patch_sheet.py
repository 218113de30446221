"""What the lines of a compared patch sheet say."""

import csv
import io

from showvault.compare.patch_lines import PatchLine, Span
from showvault.compare.patch_sheet import (
    BeyondCapacity,
    NonDimExchange,
    Overlap,
    PastTheEnd,
    PatchComparison,
    PatchRow,
    UniverseMove,
)
from showvault.report.patch_sheet import patch_sheet_csv, patch_sheet_md, patch_sheet_text


def line(number, universe=1, address=1, footprint=2, kind="wash", hazards=()):
    return PatchLine(
        number, kind, "16 bit", (Span(universe, address, footprint),), frozenset(hazards)
    )


def said(**found):
    return patch_sheet_text("a.json", "b.json", PatchComparison(**found)).split("\n")[1:]


MOVED = PatchComparison(rows=(PatchRow(line("1"), line("1", 3, 101)), PatchRow(None, line("=2"))))


def test_a_patch_sheet_for_spreadsheets_has_a_row_a_fixture_and_no_formula():
    rows = list(csv.DictReader(io.StringIO(patch_sheet_csv(MOVED))))
    assert [row["addresses_after"] for row in rows] == [
        "universe 3 addresses 101–102",
        "universe 1 addresses 1–2",
    ]
    assert (rows[0]["addresses"], rows[1]["fixture"]) == ("universe 1 addresses 1–2", "")
    assert rows[1]["fixture_after"] == "'=2"


def test_a_patch_sheet_in_markdown_is_a_table_that_no_name_breaks():
    patches = PatchComparison(rows=(PatchRow(None, line("1", kind="a|b")),))
    assert patch_sheet_md("a", "b", [], patches).split("\n")[-2:] == [
        "|---|---|---|",
        "| 1 | – | 1: a\\|b, 16 bit; universe 1 addresses 1–2 |",
    ]


def test_two_equal_patches_are_said_to_be_the_same():
    text = patch_sheet_text("a.json", "b.json", PatchComparison())
    assert text == "patch, a.json → b.json: same"


def test_a_fixture_that_moved_is_said_with_both_places():
    assert said(rows=(PatchRow(line("1"), line("1", 3, 101)),)) == [
        "  fixture 1: universe 1 addresses 1–2 → universe 3 addresses 101–102"
    ]


def test_a_fixture_of_another_type_and_number_is_said_in_one_line():
    assert said(rows=(PatchRow(line("1"), line("7", kind="spot")),)) == [
        "  fixture 1 → 7: wash, 16 bit → spot, 16 bit"
    ]


def test_fixtures_that_came_and_went_are_said():
    unpatched = PatchLine("2", "wash", "", ())
    assert said(rows=(PatchRow(None, unpatched), PatchRow(line("3"), None))) == [
        "  fixture 2 is new: wash, not patched",
        "  fixture 3 is gone: wash, 16 bit, universe 1 addresses 1–2",
    ]


def test_a_circuit_that_became_non_dim_is_said():
    rows = (PatchRow(line("1"), line("1", hazards=["non_dim"])),)
    assert said(rows=rows) == ["  fixture 1: now non-dim"]


def test_what_goes_wrong_only_now_is_said_with_its_place():
    found = said(
        universe_moves=(UniverseMove(1, 2, ("1", "2", "3")),),
        overlaps=(Overlap(1, 5, 8, ("3", "4")),),
        past_the_end=(PastTheEnd("9", Span(1, 510, 6)),),
        exchanged=(NonDimExchange(1, 3, 3, ("1",), ("2",), True),),
        beyond_capacity=(BeyondCapacity(9, 8, ("1",)),),
    )
    assert found == [
        "  universe 1 → 2: fixtures 1–3",
        "  overlap: fixtures 3 and 4 at universe 1 addresses 5–8",
        "  past address 512: fixture 9 at universe 1 addresses 510–515",
        "  dimmed circuit is now non-dim at universe 1 address 3:"
        " this can destroy a lamp or a motor",
        "  universe 9 is more than the desk's 8: fixture 1",
    ]


def test_a_name_from_a_file_cannot_steer_the_terminal():
    rows = (PatchRow(None, PatchLine("2", "wash\x1b[2J", "", ())),)
    assert "\x1b" not in said(rows=rows)[0]
