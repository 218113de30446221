"""The name of a file says the format in which a show is written."""

import pytest

from showvault.flows.spelling import Spelled, spelling_of
from showvault.interchange.registry import NoWriterError, installed_registry
from tests.builders import a_cue, a_show_of_cues, as_bytes

REGISTRY = installed_registry(print)
SHOW = as_bytes(
    a_show_of_cues({"1": a_cue({"1": {"Dimmer": 50}}), "2": a_cue({"2": {"Dimmer": 30}})})
)


def test_a_neutral_show_keeps_its_very_bytes(tmp_path):
    assert spelling_of(tmp_path / "a.json", REGISTRY, {})(SHOW + b"\n") == Spelled(SHOW + b"\n")


def test_another_format_is_written_and_its_losses_told(tmp_path):
    spelled = spelling_of(tmp_path / "a.asc", REGISTRY, {})(SHOW)
    assert spelled.data.startswith(b"IDENT 3:0")
    assert spelled.losses


def test_it_is_written_as_the_vault_is_set(tmp_path):
    def cues(**settings):
        data = spelling_of(tmp_path / "a.asc", REGISTRY, {"ascii": settings})(SHOW).data
        return data.partition(b"CUE 2")[2].partition(b"CUE")[0]

    assert b"1@50" in cues(cues="pictures")
    assert b"1@50" not in cues(cues="moves")


def test_a_neutral_show_that_stands_there_may_have_any_name(tmp_path):
    there = tmp_path / "night.shw"
    with pytest.raises(NoWriterError):
        spelling_of(there, REGISTRY, {})
    there.write_bytes(SHOW)
    assert spelling_of(there, REGISTRY, {})(SHOW) == Spelled(SHOW)
