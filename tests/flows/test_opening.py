from pathlib import Path
from typing import Any

import pytest

from showvault.files.places import Storage
from showvault.flows.opening import Chosen, NothingToWatchError, choose_vault
from showvault.vault.layout import read_vault_file
from tests.vault.builders import Ticking


def choose(paths: list[Path], home: Path, folder: Path | None = None, **more: Any) -> Chosen:
    environ = {"SHOWVAULT_HOME": str(home)}
    settings = {"keep": None, **more}
    return choose_vault(paths, folder, environ=environ, clock=Ticking(), **settings)


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


def test_a_vault_on_the_same_stick_as_the_show_is_warned_of(tmp_path: Path):
    """Both would be gone with it; a vault on the computer's own disk would not."""
    stick, disk = tmp_path / "stick", tmp_path / "disk"
    for folder in (stick / "shows", disk):
        folder.mkdir(parents=True)

    def storage(path: Path) -> Storage:
        kind = "removable" if path.is_relative_to(stick) else "fixed"
        return Storage(kind, "exfat", stick if kind == "removable" else Path("/"))

    (warning,) = choose([stick / "shows"], disk, stick / "vault", storage=storage).warnings
    assert "the same removable medium as shows" in warning
    assert choose([stick / "shows"], disk, disk / "vault", storage=storage).warnings == ()
