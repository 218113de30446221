"""What git needs to take a folder for a repository is made anew; no version is lost over it."""

import shutil
from pathlib import Path

import pytest

from showvault.files.disk import DiskError
from showvault.vault.checking import check_vault
from showvault.vault.framing import mend_frame
from showvault.vault.layout import CONFIG, VaultPaths
from showvault.vault.versions import list_versions
from tests.vault.builders import keep, make_vault, opened, parts_of

PARTS = {"show/cues/1.json": b"one"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = make_vault(tmp_path / "vault")
    with opened(folder) as vault:
        keep(vault, PARTS, label="first")
    return folder


def assert_nothing_is_lost(folder: Path, *told: str) -> None:
    with opened(folder) as vault:
        assert [repair.sentence for repair in vault.repairs] == list(told)
        (version,) = list_versions(vault.store)
        assert parts_of(vault, version) == PARTS
        assert version.labels == ("first",)
        assert check_vault(vault) == []
        keep(vault, {"show/cues/1.json": b"two"})
    with opened(folder) as vault:
        assert vault.repairs == ()


def set_aside(folder: Path) -> list[bytes]:
    return [path.read_bytes() for path in (folder / "quarantine").iterdir()]


@pytest.mark.parametrize(
    "damage", [b"", b"\0" * 21, b"sef: refs/heads/main\n", b"ref: refs/ieads/main\n"]
)
def test_a_head_that_git_does_not_take_is_made_anew(folder: Path, damage: bytes) -> None:
    (folder / "history.git/HEAD").write_bytes(damage)
    assert_nothing_is_lost(folder, "the history's HEAD was damaged; it was made anew")
    assert set_aside(folder) == [damage]


@pytest.mark.parametrize(
    "damage",
    [
        b"[core\n",
        b"[core]\n\trepositoryformatversion = 9\n",
        b"[core]\n\tbare = perhaps\n",
        b"[core]\n\trepositoryformatversion = 1\n[extensions]\n\tobjectformat = sha256\n",
    ],
)
def test_settings_that_git_cannot_work_with_are_made_anew(folder: Path, damage: bytes) -> None:
    (folder / "history.git/config").write_bytes(damage)
    assert_nothing_is_lost(folder, "the history's config was damaged; it was made anew")
    assert (folder / "history.git/config").read_bytes() == CONFIG
    assert set_aside(folder) == [damage]


def test_settings_of_the_user_stay(folder: Path) -> None:
    theirs = CONFIG + b'[remote "stick"]\n\turl = /mnt/stick\n'
    (folder / "history.git/config").write_bytes(theirs)
    with opened(folder) as vault:
        assert vault.repairs == ()
    assert (folder / "history.git/config").read_bytes() == theirs


def test_a_damaged_list_of_packed_refs_keeps_its_whole_lines(folder: Path) -> None:
    packed = folder / "history.git/packed-refs"
    line = b"%s refs/tags/one\n" % (folder / "history.git/refs/heads/main").read_bytes().strip()
    packed.write_bytes(line + b"\0\0\0\0\n")
    assert_nothing_is_lost(folder, "the history's packed-refs was damaged; it was made anew")
    assert packed.read_bytes() == line


def test_folders_that_git_misses_are_made_again(folder: Path) -> None:
    shutil.rmtree(folder / "history.git/objects/info")
    shutil.rmtree(folder / "history.git/refs/tags")
    with opened(folder) as vault:
        assert len(list_versions(vault.store)) == 1
    assert (folder / "history.git/refs/tags").is_dir()


def test_a_history_without_any_refs_is_found_by_the_journal(folder: Path) -> None:
    shutil.rmtree(folder / "history.git/refs")
    with opened(folder) as vault:
        (version,) = list_versions(vault.store)
        assert parts_of(vault, version) == PARTS


def test_a_head_that_is_gone_is_made_again(folder: Path) -> None:
    (folder / "history.git/HEAD").unlink()
    assert_nothing_is_lost(folder, "the history's HEAD was damaged; it was made anew")
    assert set_aside(folder) == []


def test_settings_that_lead_nowhere_are_made_anew(folder: Path) -> None:
    (folder / "history.git/config").unlink()
    (folder / "history.git/config").symlink_to("config")
    assert_nothing_is_lost(
        folder,
        "something else stood in the place of history.git/config; it is in quarantine/config",
        "the history's config was damaged; it was made anew",
    )


class DyingPlace(type(Path())):  # type: ignore[misc]
    """A place on a disk that gives no bytes back."""

    def read_bytes(self) -> bytes:
        raise OSError(5, "Input/output error")


def test_settings_that_nobody_can_read_are_told(folder: Path) -> None:
    with opened(folder) as vault, pytest.raises(DiskError, match="could not read"):
        mend_frame(VaultPaths(DyingPlace(folder)), vault.store)
