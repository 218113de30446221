from pathlib import Path

import pytest

from showvault.flows.opening import NothingToWatchError, choose_vault
from showvault.vault.layout import read_vault_file
from tests.vault.builders import Ticking


def choose(paths: list[Path], home: Path, folder: Path | None = None, keep: int | None = None):
    environ = {"SHOWVAULT_HOME": str(home)}
    return choose_vault(paths, folder, keep=keep, environ=environ, clock=Ticking())


def test_a_vault_is_made_in_the_data_folder_not_beside_the_show(tmp_path: Path):
    shows = tmp_path / "harvest"
    shows.mkdir()
    chosen = choose([shows], tmp_path / "home")
    assert chosen.created
    assert chosen.folder.is_relative_to(tmp_path / "home")
    assert read_vault_file(chosen.folder).watched == (str(shows),)


def test_the_vault_that_watches_a_folder_is_found_again(tmp_path: Path):
    shows = tmp_path / "harvest"
    (shows / "act one").mkdir(parents=True)
    first = choose([shows], tmp_path / "home")
    again = choose([shows / "act one"], tmp_path / "home")
    assert again.folder == first.folder
    assert not again.created


def test_a_named_vault_takes_new_folders_and_settings_to_its_own(tmp_path: Path):
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
    vault = tmp_path / "vault"
    choose([tmp_path / "one"], tmp_path / "home", vault)
    choose([tmp_path / "two"], tmp_path / "home", vault, keep=20)
    described = read_vault_file(vault)
    assert described.watched == (str(tmp_path / "one"), str(tmp_path / "two"))
    assert described.settings.keep == 20


def test_a_vault_inside_the_watched_folder_is_warned_of(tmp_path: Path):
    shows = tmp_path / "shows"
    shows.mkdir()
    chosen = choose([shows], tmp_path / "home", shows / "vault")
    assert any("inside" in warning for warning in chosen.warnings)


def test_a_path_that_is_not_there_is_said_so(tmp_path: Path):
    with pytest.raises(NothingToWatchError, match="not there"):
        choose([tmp_path / "gone"], tmp_path / "home")
