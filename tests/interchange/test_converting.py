"""From any format to any other, with what is lost."""

from pathlib import Path

import pytest

from showvault.interchange.converting import convert, convert_into
from showvault.interchange.laying import lay_rig_into
from showvault.interchange.reader import CannotReadError, OptionError
from showvault.interchange.registry import NoWriterError, build_registry
from showvault.interchange.rig import RigReader
from showvault.show.reading import NotUnderstoodError, find_faults
from tests.interchange.rigs import address, channel, fixture, fixture_type, rig

REGISTRY = build_registry([], lambda sentence: None)
ASCII = (Path(__file__).parent / "ascii" / "example_1.asc").read_bytes()
SWELL = fixture_type(channel("1", "Dimmer"), channel("2", "Pan"))
RIG = rig(fixture(1, address("33")), fixture(2), Swell=SWELL)
TABLE = b"Channel,DMX,Position\n1,1/33,FOH\n"
SOURCES = {"plot.asc": ASCII, "stage.mvr": RIG, "hookup.csv": TABLE}
SHOW = {
    "format": "neutral-show",
    "format_version": 1,
    "patch": {
        "1": {
            "type": "Old",
            "mode": "A",
            "notes": "mind the drape",
            "addresses": [{"universe": 1, "address": 33, "scale": 80}],
        },
        "9": {"type": "Old", "mode": "A"},
    },
}


@pytest.mark.parametrize("source", SOURCES)
@pytest.mark.parametrize("target", ["out.json", "out.asc", "out.mvr", "out.csv", "out.xlsx"])
def test_every_pair_of_formats_converts_and_what_was_written_reads_again(source, target):
    made = convert(SOURCES[source], source, target, {}, REGISTRY)
    reader = REGISTRY.choose_reader(target, made.data)
    assert f"{reader.name}/{reader.version}" == made.writer
    assert reader.read(made.data, {}).show is not None


def test_a_conversion_names_who_read_and_what_was_lost_on_which_side():
    data = ASCII.replace(b"2@100\r\n", b"2@999\r\n")
    made = convert(data, "plot.asc", "plot.mvr", {}, REGISTRY)
    assert (made.reader, made.writer) == ("ascii/1", "mvr/2")
    assert [loss.what for loss in made.read_losses] == ["bad level"]
    assert "cue lists" in [loss.what for loss in made.write_losses]
    assert made.losses == made.read_losses + made.write_losses


def test_options_reach_the_side_that_knows_them():
    made = convert(ASCII, "plot.asc", "plot.json", {"cues": "moves"}, REGISTRY)
    assert b'"tracking": true' in made.data


def test_an_option_that_neither_side_knows_is_refused():
    with pytest.raises(OptionError) as refused:
        convert(ASCII, "plot.asc", "plot.json", {"speed": "9"}, REGISTRY)
    assert "cues" in refused.value.hint


def test_a_file_that_is_private_to_its_desk_is_refused():
    with pytest.raises(CannotReadError, match="private to its desk"):
        convert(b"\x01\x02", "tonight.desk", "out.json", {}, REGISTRY)


def test_half_a_file_is_refused():
    with pytest.raises(CannotReadError, match="is not whole"):
        convert(ASCII[:-12], "plot.asc", "out.json", {}, REGISTRY)


def test_a_show_with_faults_is_refused():
    data = b'{"format": "neutral-show", "format_version": 1, "patch": {"x": {}}}'
    with pytest.raises(NotUnderstoodError):
        convert(data, "a.json", "a.csv", {}, REGISTRY)


def test_a_format_that_nobody_writes_is_refused():
    with pytest.raises(NoWriterError):
        convert(ASCII, "plot.asc", "out.desk", {}, REGISTRY)


def test_a_rig_is_laid_into_a_show_without_losing_what_the_rig_does_not_say():
    laid = lay_rig_into(SHOW, RigReader().read(RIG, {}).show)
    assert (laid.matched, laid.added, laid.not_in_rig) == (("1",), ("2",), ("9",))
    first = laid.show["patch"]["1"]
    assert (first["type"], first["notes"]) == ("Swell", "mind the drape")
    assert first["addresses"] == [{"universe": 1, "address": 33, "scale": 80}]
    assert laid.show["patch"]["9"] == SHOW["patch"]["9"]
    assert "Swell" in laid.show["fixture_types"]


def test_a_fixture_that_was_renumbered_in_the_rig_keeps_the_number_cues_call_it_by():
    """MVR, File Format Definition: a uuid stays the same through every export."""
    first = RigReader().read(rig(fixture(1), Swell=SWELL), {}).show
    renumbered = rig(fixture(1).replace(">1<", ">7<"), Swell=SWELL)
    laid = lay_rig_into(first, RigReader().read(renumbered, {}).show)
    assert list(laid.show["patch"]) == ["1"]


def test_a_fixture_that_the_rig_unpatched_is_unpatched_in_the_show():
    rig_show = RigReader().read(rig(fixture(1, address("0")), Swell=SWELL), {}).show
    assert "addresses" not in lay_rig_into(SHOW, rig_show).show["patch"]["1"]


def test_laying_a_rig_changes_neither_the_show_nor_the_rig():
    import copy

    show, rig_show = copy.deepcopy(SHOW), RigReader().read(RIG, {}).show
    before = copy.deepcopy(rig_show)
    lay_rig_into(show, rig_show)
    assert (show, rig_show) == (SHOW, before)


def test_laying_the_same_rig_twice_changes_nothing_more():
    rig_show = RigReader().read(RIG, {}).show
    once = lay_rig_into(SHOW, rig_show).show
    assert lay_rig_into(once, rig_show).show == once


def test_a_rig_laid_into_a_show_is_written_as_the_new_name_says():
    made = convert_into(SHOW, RIG, "stage.mvr", "evening.json", {}, REGISTRY)
    assert find_faults(made.data) == []
    assert made.laid is not None and made.laid.added == ("2",)
