import json
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from showvault.files.disk import DiskError
from showvault.vault.layout import (
    FORMAT,
    DamagedDescriptionError,
    NewerVaultError,
    NotAVaultError,
    VaultExistsError,
    VaultSettings,
    create_vault,
    read_description,
    read_vault_file,
    write_vault_file,
)
from tests.faults.failing_disk import FailingDisk
from tests.vault.builders import SHOW, Ticking, make_vault


def test_a_new_vault_says_what_it_is(tmp_path: Path) -> None:
    made = create_vault(
        tmp_path / "v",
        name="Evening",
        watched=[Path(SHOW)],
        clock=Ticking(),
        settings=VaultSettings(keep=3, ignore=("*.bak",)),
        new_id=lambda: "an id",
    )
    assert read_vault_file(tmp_path / "v") == made
    assert (made.vault_format, made.id, made.watched) == (FORMAT, "an id", (SHOW,))
    assert made.created == "2026-11-24T21:01:00Z"
    assert made.settings.remind_minutes == 20


def test_its_history_is_an_ordinary_git_repository(tmp_path: Path) -> None:
    make_vault(tmp_path / "v")
    history = str(tmp_path / "v" / "history.git")
    subprocess.run(["git", "-C", history, "fsck", "--strict"], check=True, capture_output=True)
    asked = ["git", "-C", history, "rev-parse", "--is-bare-repository"]
    assert subprocess.run(asked, check=True, capture_output=True).stdout == b"true\n"


@pytest.mark.skipif(sys.platform == "win32", reason="permissions of POSIX")
def test_a_vault_is_private_to_its_user(tmp_path: Path) -> None:
    (tmp_path / "v").mkdir(mode=0o755)
    make_vault(tmp_path / "v")
    assert stat.S_IMODE((tmp_path / "v").stat().st_mode) == 0o700
    assert stat.S_IMODE((tmp_path / "v" / "history.git").stat().st_mode) == 0o700
    assert stat.S_IMODE((tmp_path / "v" / "vault.json").stat().st_mode) == 0o600


def test_a_folder_that_holds_something_else_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "evening.json").write_bytes(b"{}")
    with pytest.raises(VaultExistsError):
        make_vault(tmp_path)
    make_vault(tmp_path / "v")
    with pytest.raises(VaultExistsError):
        make_vault(tmp_path / "v")
    with pytest.raises(VaultExistsError):
        make_vault(tmp_path / "evening.json")


def test_a_vault_whose_making_was_cut_off_anywhere_can_be_made_again(tmp_path: Path) -> None:
    for n in range(1, 200):
        folder = tmp_path / str(n)
        try:
            make_vault(folder, disk=FailingDisk(n))
        except DiskError:
            try:
                read_vault_file(folder)
            except NotAVaultError:
                make_vault(folder)
            read_vault_file(folder)
        else:
            assert n > 30
            return
    pytest.fail("it never came to its end")


def test_no_vault_is_told(tmp_path: Path) -> None:
    with pytest.raises(NotAVaultError) as caught:
        read_vault_file(tmp_path)
    assert caught.value.exit_code == 4


def test_a_vault_of_a_newer_format_is_refused_and_left_alone(tmp_path: Path) -> None:
    make_vault(tmp_path / "v")
    path = tmp_path / "v" / "vault.json"
    path.write_text(path.read_text().replace('"vault_format": 1', '"vault_format": 2'))
    before = path.read_bytes()
    with pytest.raises(NewerVaultError) as caught:
        read_vault_file(tmp_path / "v")
    assert (caught.value.exit_code, caught.value.found) == (7, 2)
    assert path.read_bytes() == before


def test_a_vault_of_an_older_format_is_lifted_step_by_step(tmp_path: Path) -> None:
    """The mechanism, with steps of the test's own: there is no older format yet."""
    make_vault(tmp_path / "v")
    path = tmp_path / "v" / "vault.json"
    fields = json.loads(path.read_text())
    fields["vault_format"] = -1
    fields["title"] = fields.pop("name")
    path.write_text(json.dumps(fields))
    steps = {
        -1: lambda old: {**old, "called": old["title"]},
        0: lambda old: {**old, "name": old["called"].upper()},
    }
    lifted = read_vault_file(tmp_path / "v", upgrades=steps)
    assert (lifted.vault_format, lifted.name) == (FORMAT, "EVENING")


@pytest.mark.parametrize(
    "text",
    [
        b"",
        b"{",
        b"[]",
        b"{}",
        b'{"vault_format": "1"}',
        b'{"vault_format": 0}',
        b"\xff",
        b'{"vault_format": 1, "name": 5}',
        b'{"vault_format": 1, "id": "i", "name": "n", "created": "", "watched": []}',
        b'{"vault_format": 1, "id": "i", "name": "n", "created": "", "watched": ["/a\\u0000"]}',
        b"[" * 10000,
    ],
)
def test_a_damaged_description_is_told(tmp_path: Path, text: bytes) -> None:
    make_vault(tmp_path / "v")
    (tmp_path / "v" / "vault.json").write_bytes(text)
    with pytest.raises(DamagedDescriptionError) as caught:
        read_description(tmp_path / "v" / "vault.json")
    assert caught.value.exit_code == 7


def test_settings_can_be_changed(tmp_path: Path) -> None:
    import msgspec

    make_vault(tmp_path / "v")
    old = read_vault_file(tmp_path / "v")
    new = msgspec.structs.replace(old, settings=VaultSettings(keep=3))
    write_vault_file(tmp_path / "v", new)
    assert read_vault_file(tmp_path / "v") == new


def test_a_description_that_is_no_file_is_told(tmp_path: Path) -> None:
    make_vault(tmp_path / "v")
    (tmp_path / "v" / "vault.json").unlink()
    (tmp_path / "v" / "vault.json").mkdir()
    with pytest.raises(NotAVaultError):
        read_description(tmp_path / "v" / "vault.json")
    with pytest.raises(DiskError):
        read_description(tmp_path / ("x" * 400) / "vault.json")


def test_a_place_whose_name_no_disk_can_hold_is_told(tmp_path: Path) -> None:
    with pytest.raises(DiskError):
        make_vault(tmp_path / ("x" * 300))
