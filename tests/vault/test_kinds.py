import os
import shutil
import sys
import tempfile
from pathlib import Path

import pytest

from showvault.files.disk import DISK, DiskError
from showvault.vault.checking import check_vault
from showvault.vault.kinds import FILE_PLACES, FOLDERS, settle_kinds
from showvault.vault.layout import VaultPaths
from showvault.vault.second import copy_packs
from showvault.vault.versions import list_versions
from tests.fakes import without_the_rights_of_root
from tests.vault.builders import keep, make_vault, opened

posix = pytest.mark.skipif(sys.platform == "win32", reason="kinds of files of POSIX")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = make_vault(tmp_path / "vault")
    with opened(folder) as vault:
        for number in range(3):
            keep(vault, {"a": b"%d" % number, "same": b"as ever"})
        copy_packs(vault.paths, vault.store)
    return folder


def a_folder_with_something_in_it(place: Path) -> None:
    place.unlink(missing_ok=True)
    place.mkdir()
    (place / "something").write_bytes(b"of somebody's")


def versions_of(folder: Path) -> list[int]:
    with opened(folder) as vault:
        assert check_vault(vault) == []
        return [version.number for version in list_versions(vault.store)]


def packs_and_copies(folder: Path) -> list[Path]:
    paths = VaultPaths(folder)
    return [
        path
        for place in (paths.packs, paths.second, paths.ring)
        for path in sorted(place.iterdir())
        if path.is_file()
    ]


def test_what_is_of_its_kind_is_left_alone(folder: Path) -> None:
    (folder / "ring" / "mine").mkdir()
    assert settle_kinds(VaultPaths(folder), DISK) == []
    assert (folder / "ring" / "mine").is_dir()


@pytest.mark.parametrize("at", range(13))
def test_a_folder_in_the_place_of_a_pack_an_index_or_a_copy_costs_no_version(
    folder: Path, at: int
) -> None:
    """Git dies over a folder where an index was, whichever pack it is asked about."""
    places = packs_and_copies(folder)
    assert len(places) == 13
    a_folder_with_something_in_it(places[at])
    with opened(folder) as vault:
        where = places[at].relative_to(folder).as_posix()
        assert str(vault.repairs[0]).startswith(f"something else stood in the place of {where};")
        with vault.writing("mending") as lock:
            vault.mend_thoroughly(lock)
        assert [version.number for version in list_versions(vault.store)] == [3, 2, 1]
        assert [one for one in check_vault(vault) if one.where != "ring"] == []
        assert keep(vault, {"a": b"next"}).number == 4


@pytest.mark.parametrize("name", FILE_PLACES)
def test_a_folder_in_the_place_of_a_record_or_a_ref_costs_no_version(
    folder: Path, name: str
) -> None:
    a_folder_with_something_in_it(folder / name)
    assert versions_of(folder) == [3, 2, 1]
    assert any((aside / "something").exists() for aside in (folder / "quarantine").iterdir())


@pytest.mark.parametrize("name", ["ring", "second", "quarantine", *FOLDERS[4:]])
def test_a_file_in_the_place_of_a_folder_costs_no_version_that_lies_elsewhere(
    folder: Path, name: str
) -> None:
    place = folder / name
    if place.is_dir():
        shutil.rmtree(place)
    place.write_bytes(b"of somebody's")
    with opened(folder) as vault:
        assert "stood in the place of" in str(vault.repairs[0])
        assert [version.number for version in list_versions(vault.store)] == [3, 2, 1]
        assert keep(vault, {"a": b"next"}).number == 4
    asides = [path for path in (folder / "quarantine").iterdir() if path.is_file()]
    assert b"of somebody's" in [aside.read_bytes() for aside in asides]


@posix
@pytest.mark.parametrize(
    "name",
    [
        "history.git/objects/ab/" + "c" * 38,
        "history.git/objects/info/commit-graph",
        "history.git/refs/heads/another",
        "history.git/refs/showvault/files/" + "d" * 64,
        "history.git/shallow",
    ],
)
@pytest.mark.parametrize("kind", ["pipe", "link to a device", "link to a pipe"])
def test_what_never_ends_among_what_git_looks_through_is_not_waited_for(
    folder: Path, tmp_path: Path, name: str, kind: str
) -> None:
    place = folder / name
    place.parent.mkdir(parents=True, exist_ok=True)
    os.mkfifo(tmp_path / "pipe")
    match kind:
        case "pipe":
            os.mkfifo(place)
        case "link to a device":
            place.symlink_to("/dev/zero")
        case _:
            place.symlink_to(tmp_path / "pipe")
    assert versions_of(folder) == [3, 2, 1]
    assert [path.name for path in VaultPaths(folder).quarantine.iterdir()] == [place.name]


@posix
@pytest.mark.parametrize("target", ["nowhere", "gone"])
def test_a_link_to_nothing_or_to_itself_is_left_to_git(folder: Path, target: str) -> None:
    (folder / "history.git" / "refs" / "gone").symlink_to(target)
    assert settle_kinds(VaultPaths(folder), DISK) == []


@posix
@pytest.mark.parametrize("target", ["nowhere", "000009_2026-11-24_21-00-00_evening.json"])
def test_a_link_to_nothing_or_to_itself_is_no_copy(folder: Path, target: str) -> None:
    name = "000009_2026-11-24_21-00-00_evening.json"
    (folder / "ring" / name).symlink_to(target)
    assert len(settle_kinds(VaultPaths(folder), DISK)) == 1
    assert versions_of(folder) == [3, 2, 1]


@posix
@pytest.mark.parametrize(
    "name",
    [
        *("journal", "ballast", "history.git/packed-refs"),
        "history.git/objects/pack/pack-1111111111111111111111111111111111111111.idx",
        "history.git/objects/pack/pack-1111111111111111111111111111111111111111.pack",
        "second/pack-1111111111111111111111111111111111111111.pack",
        "ring/000009_2026-11-24_21-00-00_evening.json",
        "ring/.pending-000009_2026-11-24_21-00-00_evening.json",
    ],
)
def test_a_strangers_pipe_is_not_waited_for(folder: Path, name: str) -> None:
    (folder / name).unlink(missing_ok=True)
    os.mkfifo(folder / name)
    assert versions_of(folder) == [3, 2, 1]


@posix
def test_a_link_counts_as_what_it_leads_to(folder: Path, tmp_path: Path) -> None:
    shutil.move(folder / "second", tmp_path / "other disk")
    (folder / "second").symlink_to(tmp_path / "other disk")
    (folder / "ring" / "000009_2026-11-24_21-00-00_evening.json").symlink_to(os.devnull)
    repairs = settle_kinds(VaultPaths(folder), DISK)
    assert [str(repair).partition(";")[0] for repair in repairs] == [
        "something else stood in the place of ring/000009_2026-11-24_21-00-00_evening.json"
    ]
    assert (folder / "second").is_symlink()


@posix
def test_a_folder_that_cannot_be_looked_into_is_told() -> None:
    with tempfile.TemporaryDirectory() as name:  # one whose path anybody may go
        Path(name).chmod(0o755)
        (Path(name) / "quarantine").mkdir()
        (Path(name) / "second").mkdir(mode=0)
        with without_the_rights_of_root(), pytest.raises(DiskError, match="could not look into"):
            settle_kinds(VaultPaths(Path(name)), DISK)
