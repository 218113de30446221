"""What is mended when a vault is opened; more of it stands in tests/faults/test_damage.py."""

import os
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from showvault.files.disk import DiskError, RealFileSystem
from showvault.vault.checking import check_vault, mend_vault
from showvault.vault.housekeeping import fold_packs, housekeep
from showvault.vault.packing import proves_whole
from showvault.vault.second import copy_packs
from showvault.vault.store import LABELS, MAIN
from showvault.vault.versions import list_versions
from tests.vault.builders import flip, keep, make_vault, opened, parts_of

BLAMED = """#!/bin/sh
for word; do
    if [ "$word" = "COMMAND" ]; then echo "fatal: Input/output error" >&2; exit 128; fi
done
exec REAL "$@"
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = make_vault(tmp_path / "vault")
    with opened(folder) as vault:
        keep(vault, {"show/1.json": b"1"}, label="first")
        keep(vault, {"show/1.json": b"2" * 300})
    return folder


def packs(folder: Path) -> list[Path]:
    found = (folder / "history.git/objects/pack").glob("*.pack")
    return sorted(found, key=lambda path: path.stat().st_mtime_ns)


def lose_the_journal(folder: Path) -> None:
    (folder / "journal").unlink()


def lose_an_index(folder: Path) -> None:
    lose_the_journal(folder)
    packs(folder)[-1].with_suffix(".idx").unlink()


def lose_the_branch(folder: Path) -> None:
    (folder / "history.git" / MAIN).write_bytes(b"f" * 40 + b"\n")


def damage_a_pack(folder: Path) -> None:
    lose_the_branch(folder)
    flip(packs(folder)[-1])


def damage_a_pack_and_its_index(folder: Path) -> None:
    damage_a_pack(folder)
    packs(folder)[-1].with_suffix(".idx").unlink()


def damage_the_labels(folder: Path) -> None:
    (folder / "history.git" / LABELS).write_bytes(b"")


def change_the_settings(folder: Path) -> None:
    with (folder / "history.git/config").open("ab") as config:
        config.write(b"[user]\n\tname = Ada\n")


@pytest.mark.skipif(sys.platform == "win32", reason="the stand-in is a shell script")
@pytest.mark.parametrize(
    ("damage", "command"),
    [
        (lose_the_journal, "verify-pack"),
        (lose_the_journal, "rev-list"),
        (lose_an_index, "index-pack"),
        (lose_the_branch, "verify-pack"),
        (damage_a_pack, "show-index"),
        (damage_a_pack_and_its_index, "unpack-objects"),
        (damage_the_labels, "--batch-all-objects"),
        (change_the_settings, "rev-parse"),
    ],
)
def test_where_git_blames_the_disk_nothing_is_taken_for_damaged(
    folder: Path, tmp_path: Path, damage: Callable[[Path], None], command: str
) -> None:
    """A cable that hangs loose must not send whole packs to the quarantine."""
    damage(folder)
    before = {path.name: path.read_bytes() for path in packs(folder)}
    real = shutil.which("git")
    assert real is not None
    stand_in = tmp_path / "bin" / "git"
    stand_in.parent.mkdir()
    stand_in.write_text(BLAMED.replace("COMMAND", command).replace("REAL", real))
    stand_in.chmod(0o700)
    environ = {**os.environ, "PATH": str(stand_in.parent)}
    with pytest.raises(DiskError, match="Input/output error"):
        opened(folder, environ=environ)
    if "pack" not in damage.__name__:
        assert {path.name: path.read_bytes() for path in packs(folder)} == before
    with opened(folder) as vault:
        assert list_versions(vault.store)[-1].labels == ("first",)
        keep(vault, {"show/1.json": b"3"})
        assert list_versions(vault.store)[0].good


def test_a_history_of_which_nothing_is_whole_is_left_alone_and_told(folder: Path) -> None:
    for pack in packs(folder):
        pack.chmod(0o600)
        pack.write_bytes(b"PACK" + bytes(60))
    (folder / "history.git" / MAIN).write_bytes(b"f" * 40 + b"\n")
    copies = sorted(path.read_bytes() for path in (folder / "ring").iterdir())
    with opened(folder) as vault:
        told = [str(repair) for repair in vault.repairs]
        assert (
            "no version in the history is whole; the ring and the quarantine were left alone"
            in (told)
        )
        assert list_versions(vault.store) == []
    assert sorted(path.read_bytes() for path in (folder / "ring").iterdir()) == copies
    with opened(folder) as vault:
        keep(vault, {"show/1.json": b"3"})
        assert len(list_versions(vault.store)) == 1


def test_a_branch_that_says_nothing_is_mended_by_a_thorough_look_as_well(folder: Path) -> None:
    with opened(folder) as vault:
        before = list_versions(vault.store)
        (folder / "history.git" / MAIN).write_bytes(b"nothing\n")
        with vault.writing("a look"):
            pass
        (folder / "history.git" / MAIN).write_bytes(b"nothing\n")
        repairs = mend_vault(vault)
        assert repairs or vault.repairs
        assert list_versions(vault.store) == before
        assert check_vault(vault) == []


def test_a_pack_found_damaged_while_it_is_copied_is_mended_at_once(folder: Path) -> None:
    with opened(folder) as vault:
        flip(packs(folder)[0])
        vault.store.close()
        told = housekeep(vault)
        assert told
        assert parts_of(vault, list_versions(vault.store)[0]) == {"show/1.json": b"2" * 300}


def test_a_pack_found_damaged_before_folding_comes_from_its_second_copy(folder: Path) -> None:
    with opened(folder) as vault:
        housekeep(vault)
        flip(packs(folder)[0])
        vault.store.close()
        fold_packs(vault)
        assert [version.number for version in list_versions(vault.store)] == [2, 1]
        assert check_vault(vault) == []


def test_a_pack_that_somebody_marked_to_be_kept_is_not_removed_by_folding(folder: Path) -> None:
    """The mark is git's own: NAME.keep beside the pack (git-index-pack)."""
    marked = packs(folder)[0]
    marked.with_suffix(".keep").write_bytes(b"mine\n")
    with opened(folder) as vault:
        fold_packs(vault)
        assert marked in packs(folder)
        assert len(packs(folder)) == 2
        assert check_vault(vault) == []


class DamagingDisk(RealFileSystem):
    """Changes a bit in the newest pack as soon as the journal is written."""

    def __init__(self, folder: Path) -> None:
        super().__init__()
        self.folder = folder

    def open(self, path: Path, flags: int, mode: int = 0o600) -> int:
        if path.name == "journal" and flags & os.O_APPEND:
            flip(packs(self.folder)[-1])
        return super().open(path, flags, mode)


def test_a_folded_pack_that_is_damaged_before_it_is_copied_costs_nothing(folder: Path) -> None:
    """The second copies of the packs that were folded into it stay, and mend it."""
    with opened(folder) as vault:
        copy_packs(vault.paths, vault.store)
        before = [parts_of(vault, version) for version in list_versions(vault.store)]
    with opened(folder, disk=DamagingDisk(folder)) as vault:
        fold_packs(vault)
        assert len(packs(folder)) == 1
        assert not proves_whole(packs(folder)[0])
    with opened(folder) as vault:
        mend_vault(vault)
        assert check_vault(vault) == []
        assert [parts_of(vault, version) for version in list_versions(vault.store)] == before


def test_a_branch_that_is_damaged_while_it_is_mended_is_mended_too(folder: Path) -> None:
    with opened(folder) as vault:
        before = list_versions(vault.store)
        with vault.writing("a close look") as lock:
            (folder / "history.git" / MAIN).write_bytes(b"nothing\n")
            vault.mend_thoroughly(lock)
        assert list_versions(vault.store) == before
        assert check_vault(vault) == []


def test_a_version_that_does_not_lead_to_the_last_one_that_was_reported_does_not_count(
    folder: Path,
) -> None:
    """It is whole itself, but the one between them is gone; neither was reported."""
    with opened(folder) as vault:
        keep(vault, {"show/1.json": b"3" * 300})
        keep(vault, {"show/1.json": b"4" * 300})
    lines = (folder / "journal").read_bytes().splitlines(keepends=True)
    (folder / "journal").write_bytes(b"".join(lines[:3]))  # two versions and a label
    third = f"pack-{lines[3].decode().split(' ')[3]}"
    for path in (folder / "history.git/objects/pack").glob(f"{third}.*"):
        path.unlink()
    with opened(folder) as vault:
        told = [repair.sentence for repair in vault.repairs]
        assert "the history was damaged; its newest whole version is 2" in told
        assert [version.number for version in list_versions(vault.store)] == [2, 1]
        assert keep(vault, {"show/1.json": b"next"}).number == 3
        assert check_vault(vault) == []
