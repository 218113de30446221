import os
import sys
from pathlib import Path

import pytest

from showvault.files.disk import DiskError
from showvault.vault.finding import (
    NoVaultError,
    SeveralVaultsError,
    UnreadableConfigError,
    all_vaults,
    data_folder,
    default_vault_folder,
    find_vault,
    remember_vault,
)
from showvault.vault.layout import DamagedDescriptionError, create_vault
from tests.vault.builders import Ticking


@pytest.fixture
def environ(tmp_path: Path) -> dict[str, str]:
    return {"SHOWVAULT_HOME": str(tmp_path / "home"), "HOME": str(tmp_path)}


def make(folder: Path, *watched: Path) -> Path:
    create_vault(folder, name=folder.name, watched=watched, clock=Ticking())
    return folder


def test_the_data_folder_is_the_one_that_is_named(environ: dict[str, str]) -> None:
    assert data_folder(environ) == Path(environ["SHOWVAULT_HOME"])
    assert data_folder({}).name == "showvault"


def test_a_new_vault_goes_to_a_free_folder_of_the_data_folder(
    environ: dict[str, str], tmp_path: Path
) -> None:
    folder = default_vault_folder("Evening: 2/3", environ)
    assert folder == data_folder(environ) / "vaults" / "Evening_ 2_3"
    make(folder, tmp_path / "a")
    assert default_vault_folder("Evening: 2/3", environ).name == "Evening_ 2_3 2"
    assert default_vault_folder("..", environ).parent == data_folder(environ) / "vaults"


def test_without_a_vault_the_way_to_one_is_told(environ: dict[str, str], tmp_path: Path) -> None:
    for path in (None, tmp_path):
        with pytest.raises(NoVaultError) as caught:
            find_vault(path, environ)
        assert caught.value.exit_code == 4
        assert "watch" in (caught.value.hint or "")


def test_the_vault_that_watches_here_is_meant(environ: dict[str, str], tmp_path: Path) -> None:
    evening = make(default_vault_folder("evening", environ), tmp_path / "a" / "evening.json")
    matinee = make(default_vault_folder("matinee", environ), tmp_path / "b")
    assert find_vault(tmp_path / "a" / "evening.json", environ) == evening
    assert find_vault(tmp_path / "a", environ) == evening
    assert find_vault(tmp_path / "b" / "below" / "show.json", environ) == matinee
    with pytest.raises(NoVaultError):
        find_vault(tmp_path / "c", environ)
    for asked in (None, tmp_path):
        with pytest.raises(SeveralVaultsError) as caught:
            find_vault(asked, environ)
        assert (caught.value.exit_code, len(caught.value.folders)) == (2, 2)


def test_the_only_vault_is_meant_when_no_place_is_named(
    environ: dict[str, str], tmp_path: Path
) -> None:
    folder = make(default_vault_folder("evening", environ), tmp_path / "a")
    assert find_vault(None, environ) == folder


def test_a_vault_that_lies_elsewhere_is_found_once_it_is_remembered(
    environ: dict[str, str], tmp_path: Path
) -> None:
    folder = make(tmp_path / "else where" / "vault", tmp_path / "a")
    remember_vault(folder, environ)
    remember_vault(folder, environ)
    assert all_vaults(environ) == [folder]
    assert find_vault(tmp_path / "a", environ) == folder
    (folder / "vault.json").unlink()
    assert find_vault(tmp_path / "a", environ) == folder  # its second copy tells
    (folder / "second" / "vault.json").unlink()
    assert all_vaults(environ) == []


def test_the_configuration_says_which_vault_is_meant(
    environ: dict[str, str], tmp_path: Path
) -> None:
    make(default_vault_folder("evening", environ), tmp_path / "a")
    config = data_folder(environ) / "config.toml"
    config.write_text('vault = "mine"\n')
    assert find_vault(tmp_path / "a", environ) == data_folder(environ) / "mine"
    config.write_text("other = 1\n")
    assert find_vault(tmp_path / "a", environ).name == "evening"


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere both folders are one")
def test_the_configuration_lies_in_the_configuration_folder_as_the_readme_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The XDG Base Directory Specification: settings under XDG_CONFIG_HOME, else ~/.config."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.delenv("XDG_CONFIG_HOME", raising=False)
    monkeypatch.setenv("HOME", str(tmp_path))
    config = tmp_path / ".config/showvault/config.toml"
    config.parent.mkdir(parents=True)
    config.write_text(f'vault = "{tmp_path}/mine"\n')
    assert find_vault(None, {}) == tmp_path / "mine"


@pytest.mark.parametrize("text", [b"vault = 1", b'vault = ""', b"vault", b"\xff", b"[vault]\na=1"])
def test_a_configuration_that_says_something_else_is_told(
    environ: dict[str, str], text: bytes
) -> None:
    data_folder(environ).mkdir()
    (data_folder(environ) / "config.toml").write_bytes(text)
    with pytest.raises(UnreadableConfigError) as caught:
        find_vault(None, environ)
    assert caught.value.exit_code == 2


def test_a_damaged_vault_hides_no_other(environ: dict[str, str], tmp_path: Path) -> None:
    damaged = make(default_vault_folder("damaged", environ), tmp_path / "a")
    whole = make(default_vault_folder("whole", environ), tmp_path / "a")
    (damaged / "vault.json").write_bytes(b"{")
    (damaged / "second" / "vault.json").unlink()
    assert find_vault(tmp_path / "a", environ) == whole


def test_no_second_vault_is_begun_beside_one_of_the_name_that_cannot_be_read(
    environ: dict[str, str], tmp_path: Path
) -> None:
    """It may be the one that is meant; later both would be, and neither could be used."""
    folder = make(default_vault_folder("evening", environ), tmp_path / "a")
    (folder / "vault.json").write_bytes(b"{")
    (folder / "second" / "vault.json").unlink()
    with pytest.raises(DamagedDescriptionError):
        default_vault_folder("evening", environ)
    (folder / "vault.json").unlink()
    assert default_vault_folder("evening", environ).name == "evening 2"  # no vault at all


@pytest.mark.skipif(os.name == "nt", reason="links need a right of their own there")
def test_a_path_through_a_link_is_the_same_place(environ: dict[str, str], tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "real")
    folder = make(default_vault_folder("evening", environ), tmp_path / "real")
    assert find_vault(tmp_path / "link" / "show.json", environ) == folder


def test_a_line_that_is_no_path_hides_no_vault(environ: dict[str, str], tmp_path: Path) -> None:
    make(default_vault_folder("evening", environ), tmp_path / "a")
    listed = data_folder(environ) / "vaults.txt"
    listed.write_bytes(b"/" + b"x" * 400 + b"\n/a\0b\n")
    assert [folder.name for folder in all_vaults(environ)] == ["evening"]


@pytest.mark.parametrize("name", ["vaults.txt", "config.toml"])
def test_a_list_or_configuration_that_cannot_be_read_is_told(
    environ: dict[str, str], tmp_path: Path, name: str
) -> None:
    make(default_vault_folder("evening", environ), tmp_path / "a")
    (data_folder(environ) / name).mkdir()
    with pytest.raises(DiskError):
        find_vault(tmp_path / "a", environ)
