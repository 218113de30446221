import os
from pathlib import Path

import pytest

from showvault.flows.candidates import find_saves, is_save


@pytest.mark.parametrize("name", ["evening.json", "v12", "desk.file", "Übergabe 2.json"])
def test_what_people_name_is_a_save(name: str):
    assert is_save(Path(name))


@pytest.mark.parametrize("name", [".hidden", "~$evening.json", "evening.json.tmp", "x.PART", "a~"])
def test_what_is_on_its_way_to_something_else_is_none(name: str):
    assert not is_save(Path(name))


def test_saves_in_folders_within_are_found_in_order_and_the_vault_is_left_out(tmp_path: Path):
    for name in ("b.json", "inner/a.json", "vault/ring/x.json", ".git/config"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(b"x")
    found = find_saves([tmp_path], without=tmp_path / "vault")
    assert [str(path.relative_to(tmp_path)) for path in found] == ["b.json", "inner/a.json"]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs pipes with names")
def test_links_pipes_and_missing_places_are_passed_over(tmp_path: Path):
    os.mkfifo(tmp_path / "pipe.json")
    (tmp_path / "link.json").symlink_to("/etc/hostname")
    (tmp_path / "round").symlink_to(tmp_path)
    assert list(find_saves([tmp_path, tmp_path / "gone"], without=tmp_path / "vault")) == []


def test_a_folder_that_goes_while_it_is_looked_into_yields_nothing(tmp_path: Path):
    (tmp_path / "a.json").write_bytes(b"x")
    inner = tmp_path / "inner"
    inner.mkdir()
    found = find_saves([tmp_path], without=tmp_path / "vault")
    assert next(found).name == "a.json"
    inner.rmdir()
    assert list(found) == []
