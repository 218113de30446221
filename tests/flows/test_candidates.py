import os
import sys
import tempfile
from pathlib import Path

import pytest

from showvault.flows.candidates import Candidates, find_saves, is_save
from tests.fakes import without_the_rights_of_root


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


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such permissions")
def test_a_folder_that_may_not_be_read_is_told_and_the_rest_is_found(tmp_path: Path):
    with tempfile.TemporaryDirectory() as name:  # one whose path anybody may go
        shows = Path(name)
        shows.chmod(0o755)
        (shows / "a.json").write_bytes(b"x")
        (shows / "b").mkdir(mode=0)
        (shows / "c.json").write_bytes(b"x")
        candidates = Candidates([shows], without=tmp_path)
        with without_the_rights_of_root():
            assert candidates() == [shows / "a.json", shows / "c.json"]
        assert candidates.unreadable == (shows / "b",)
        (shows / "b").chmod(0o755)
        candidates()
        assert candidates.unreadable == ()


def test_a_place_that_cannot_even_be_looked_at_is_told(tmp_path: Path):
    nowhere, unreadable = tmp_path / ("x" * 400), []
    found = find_saves([nowhere, tmp_path], without=tmp_path, unreadable=unreadable.append)
    assert (list(found), unreadable) == ([], [nowhere])
    assert list(find_saves([nowhere], without=tmp_path)) == []


def test_a_folder_that_goes_while_it_is_looked_into_yields_nothing(tmp_path: Path):
    (tmp_path / "a.json").write_bytes(b"x")
    inner = tmp_path / "inner"
    inner.mkdir()
    found = find_saves([tmp_path], without=tmp_path / "vault")
    assert next(found).name == "a.json"
    inner.rmdir()
    assert list(found) == []
