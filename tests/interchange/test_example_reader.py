"""The example of a reader in a package of its own: it keeps the rules and is found."""

import sys
import tomllib
from importlib.metadata import EntryPoint
from pathlib import Path

import pytest

from showvault.interchange.converting import convert
from showvault.interchange.kit import check_reader, check_writer
from showvault.interchange.registry import ENTRY_POINTS, build_registry

PACKAGE = Path(__file__).parent / "example_reader"
SHEET = b"cue lines\n12.50 | Storm breaks | 3.5\n2 | Preset | 0\nend\n"
EXAMPLES = {"harbour.cuelines": SHEET, "empty.cuelines": b"cue lines\nend\n"}


@pytest.fixture
def registry(monkeypatch):
    """Return a registry that finds the example by the entry point its pyproject.toml names."""
    monkeypatch.syspath_prepend(str(PACKAGE))
    project = tomllib.loads((PACKAGE / "pyproject.toml").read_text())["project"]
    found = [
        EntryPoint(name, value, ENTRY_POINTS)
        for name, value in project["entry-points"][ENTRY_POINTS].items()
    ]
    told = []
    yield build_registry(found, told.append)
    assert told == []
    for name in [name for name in sys.modules if name.startswith("cue_lines")]:
        del sys.modules[name]


def test_the_example_keeps_the_rules_of_a_reader(registry):
    reader = registry.reader_named("cue_lines")
    check_reader(reader, EXAMPLES)
    check_writer(reader, EXAMPLES)


def test_the_example_is_found_by_its_entry_point_and_converts_both_ways(registry):
    made = convert(SHEET, "harbour.cuelines", "harbour.json", {}, registry)
    assert made.reader == "cue_lines/1" and b'"label": "Storm breaks"' in made.data
    back = convert(made.data, "harbour.json", "again.cuelines", {}, registry)
    assert back.data == b"cue lines\n2 | Preset | 0\n12.5 | Storm breaks | 3.5\nend\n"
    assert back.losses == ()
