"""A file that is stored whole is dropped by no git, whatever happens to the ref that holds it."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

from showvault.vault.checking import check_vault, mend_vault
from showvault.vault.git import clean_environment
from showvault.vault.held_files import find_unheld
from showvault.vault.opening import Vault
from showvault.vault.store import FILES
from showvault.vault.versions import list_versions, read_file
from tests.vault.builders import keep, make_vault, opened

DESK = "/shows/evening.desk"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = make_vault(tmp_path / "vault")
    with opened(folder) as vault:
        for number in range(3):
            keep(vault, {}, data=b"desk file %d" % number * 9, role="opaque", path=DESK)
    return folder


def refs(folder: Path) -> Path:
    return folder / "history.git" / FILES


def git(folder: Path, *arguments: str) -> None:
    history = folder / "history.git"
    environment = clean_environment(os.environ, history)
    subprocess.run(["git", *arguments], env=environment, check=True, capture_output=True)


def files_of(vault: Vault) -> list[bytes]:
    return [
        read_file(vault.store, version.files[0]) for version in reversed(list_versions(vault.store))
    ]


def sentences(vault: Vault) -> list[str]:
    return [repair.sentence for repair in vault.repairs]


def test_lost_refs_are_made_anew_before_a_strangers_gc_could_drop_the_files(folder: Path) -> None:
    assert list((folder / "second").glob("*.pack")) == []  # else they would come back from there
    shutil.rmtree(refs(folder))
    with opened(folder) as vault:
        assert sentences(vault) == ["3 files that are stored whole are held by a ref again"]
    git(folder, "gc", "--prune=now", "--quiet")
    with opened(folder) as vault:
        assert files_of(vault) == [b"desk file %d" % number * 9 for number in range(3)]
        assert check_vault(vault) == []


def test_refs_that_a_stranger_packed_hold_as_well(folder: Path) -> None:
    git(folder, "pack-refs", "--all")
    with opened(folder) as vault:
        assert sentences(vault) == []
        assert find_unheld(vault.store, list_versions(vault.store)) == {}


def damage_ref(ref: Path, damage: str) -> None:
    match damage:
        case "gone":
            ref.unlink()
        case "folder":
            ref.unlink()
            ref.mkdir()
            (ref / "x").write_bytes(b"x")
        case "another":
            ref.write_bytes(b"1" * 40 + b"\n")
        case _:
            ref.write_bytes(ref.read_bytes()[:20] if damage == "half" else b"")


@pytest.mark.parametrize("damage", ["gone", "folder", "another", "half", "empty"])
@pytest.mark.parametrize("number", [0, 2])
def test_a_damaged_ref_is_named_and_mended_whichever_versions_it_is(
    folder: Path, damage: str, number: int
) -> None:
    with opened(folder) as vault:
        sha256 = list_versions(vault.store)[2 - number].files[0].sha256
        damage_ref(refs(folder) / sha256, damage)
        assert [one.where for one in check_vault(vault) if f"version {number + 1}" in str(one)]
        mend_vault(vault)
        assert check_vault(vault) == []
        assert len(files_of(vault)) == 3
        assert keep(vault, {}, data=b"next", role="opaque", path=DESK).number == 4


@pytest.mark.parametrize("damage", ["gone", "another", "half", "empty"])
def test_the_same_file_can_be_kept_again_although_its_ref_is_damaged(
    folder: Path, damage: str
) -> None:
    with opened(folder) as vault:
        version = list_versions(vault.store)[2]
        damage_ref(refs(folder) / version.files[0].sha256, damage)
        data = read_file(vault.store, version.files[0])
        assert keep(vault, {}, data=data, role="opaque", path=DESK).number == 4
        assert check_vault(vault) == []


def test_what_no_git_can_find_gets_no_ref(folder: Path) -> None:
    """A ref to nothing would be damage of its own; what is gone is told by the check."""
    with opened(folder) as vault:
        ref = refs(folder) / list_versions(vault.store)[0].files[0].sha256
        assert keep(vault, {"a": b"later"}, data=b"a show").number == 4
        ref.unlink()
        assert find_unheld(vault.store, list_versions(vault.store)).keys() == {ref.name}
        git(folder, "gc", "--prune=now", "--quiet")
        vault.store.close()
        mend_vault(vault)
        assert not ref.exists()
        assert any("version 3" in str(one) for one in check_vault(vault))
