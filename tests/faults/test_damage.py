"""What is left over or damaged when a vault is opened: mended from what is good, and told."""

import contextlib
import errno
import os
import shutil
import subprocess
import threading
import time
from pathlib import Path

import pytest

from showvault.errors import ShowvaultError
from showvault.vault.checking import check_vault, copies_without_version
from showvault.vault.git import GitError
from showvault.vault.glancing import glance_at_vault
from showvault.vault.housekeeping import fold_packs, housekeep, turn_ring
from showvault.vault.labelling import set_label
from showvault.vault.opening import Vault
from showvault.vault.pending import Words
from showvault.vault.versions import Version, latest_good, list_versions
from tests.vault.builders import keep, keep_after_looking_again, make_vault, opened, parts_of

GC_SECONDS = 60.0 if os.environ.get("SHOWVAULT_FAULTS") == "full" else 3.0


@pytest.fixture
def vault_folder(tmp_path: Path) -> Path:
    folder = make_vault(tmp_path / "vault")
    with opened(folder) as vault:
        for number in range(1, 5):
            keep(vault, {"show/cues/1.json": b"cue %d" % number, f"show/{number}.json": b"x" * 500})
        set_label(vault, list_versions(vault.store)[0].commit, "locked", who="Ada")
    return folder


def numbers(folder: Path) -> list[int]:
    with opened(folder) as vault:
        return [version.number for version in list_versions(vault.store)]


def repairs(folder: Path) -> list[str]:
    with opened(folder) as vault:
        return [str(repair) for repair in vault.repairs]


def assert_next_save_works(folder: Path) -> Version:
    with opened(folder) as vault:
        version = keep(vault, {"show/cues/1.json": b"next"})
        assert list_versions(vault.store)[0].commit == version.commit
        assert check_vault(vault) == []
    return version


def newest_pack(folder: Path) -> Path:
    """The pack of the newest version."""
    line = (folder / "journal").read_text().splitlines()[-2]
    return folder / "history.git/objects/pack" / f"pack-{line.split(' ')[3]}.pack"


def flip_bit(path: Path, at: int) -> None:
    data = bytearray(path.read_bytes())
    data[at] ^= 1
    path.chmod(0o600)
    path.write_bytes(data)


def test_a_vault_left_in_order_needs_no_repair(vault_folder: Path) -> None:
    assert repairs(vault_folder) == []


@pytest.mark.parametrize(
    "leftover",
    [
        "history.git/refs/heads/main.lock",
        "history.git/HEAD.lock",
        "history.git/refs/showvault/labels.lock",
        "history.git/objects/pack/tmp_pack_Ab12Cd",
        "history.git/objects/pack/tmp_idx_Ab12Cd",
        "history.git/objects/pack/.showvault-4711-0",
        "ring/.showvault-4711-0",
        ".showvault-4711-0",
    ],
)
def test_what_a_crash_left_half_written_is_swept(vault_folder: Path, leftover: str) -> None:
    (vault_folder / leftover).write_bytes(b"half")
    assert "half-written" in " ".join(repairs(vault_folder))
    assert not (vault_folder / leftover).exists()
    assert_next_save_works(vault_folder)


def test_a_lock_of_somebody_elses_git_is_left_alone_while_it_is_new(vault_folder: Path) -> None:
    lock = vault_folder / "history.git/packed-refs.lock"
    lock.write_bytes(b"")
    os.utime(lock, (2_000_000_000, 2_000_000_000))  # later than the clock of the test
    assert repairs(vault_folder) == []
    os.utime(lock, (time.time() - 10**7, 1))
    assert "half-written" in " ".join(repairs(vault_folder))


@pytest.mark.parametrize("found", [b"", b"\0" * 41, b"0" * 40 + b"\n", b"f" * 40 + b"\n", b"ref"])
def test_a_branch_that_points_nowhere_goes_back_to_the_journal(
    vault_folder: Path, found: bytes
) -> None:
    """Empty, NUL-filled and zeroed refs are what power cuts left in the field (gitea 31834)."""
    (vault_folder / "history.git/refs/heads/main").write_bytes(found)
    told = repairs(vault_folder)
    assert "version is 4" in " ".join(told)
    assert numbers(vault_folder) == [4, 3, 2, 1]
    assert_next_save_works(vault_folder)


def test_a_branch_that_is_gone_goes_back_to_the_journal(vault_folder: Path) -> None:
    (vault_folder / "history.git/refs/heads/main").unlink()
    assert numbers(vault_folder) == [4, 3, 2, 1]
    assert_next_save_works(vault_folder)


def test_a_branch_that_fell_behind_the_journal_catches_up(vault_folder: Path) -> None:
    with opened(vault_folder) as vault:
        second = list_versions(vault.store)[2].commit
    (vault_folder / "history.git/refs/heads/main").write_text(f"{second}\n")
    assert numbers(vault_folder) == [4, 3, 2, 1]
    assert_next_save_works(vault_folder)


def test_a_version_that_was_stored_but_not_reported_is_kept(vault_folder: Path) -> None:
    with opened(vault_folder) as vault:
        keep(vault, {"show/cues/1.json": b"last"})
    journal = vault_folder / "journal"
    journal.write_bytes(b"".join(journal.read_bytes().splitlines(keepends=True)[:-1]) + b"5 abc")
    assert "version 5 was stored" in " ".join(repairs(vault_folder))
    assert repairs(vault_folder) == []
    assert_next_save_works(vault_folder)


def test_a_copy_that_was_not_named_yet_gets_its_name(vault_folder: Path) -> None:
    ring = vault_folder / "ring"
    newest = sorted(ring.iterdir())[-1]
    newest.rename(ring / f".pending-{newest.name}")
    journal = vault_folder / "journal"
    lines = journal.read_bytes().splitlines(keepends=True)
    journal.write_bytes(b"".join(lines[:3]))
    assert "got its name" in " ".join(repairs(vault_folder))
    assert newest.exists()


def test_a_copy_of_a_save_that_never_was_goes_to_the_quarantine(vault_folder: Path) -> None:
    (vault_folder / "ring/.pending-000009_2026-11-24_22-00-00_evening.json").write_bytes(b"bytes")
    assert "quarantine" in " ".join(repairs(vault_folder))
    kept = list((vault_folder / "quarantine").iterdir())
    assert [path.read_bytes() for path in kept] == [b"bytes"]


def test_a_journal_that_is_gone_is_begun_again(vault_folder: Path) -> None:
    (vault_folder / "journal").unlink()
    assert numbers(vault_folder) == [4, 3, 2, 1]
    assert repairs(vault_folder) == []
    assert_next_save_works(vault_folder)


def test_labels_whose_ref_is_damaged_come_back(vault_folder: Path) -> None:
    (vault_folder / "history.git/refs/showvault/labels").write_bytes(b"\0" * 41)
    with opened(vault_folder) as vault:
        assert "labels were brought back" in " ".join(map(str, vault.repairs))
        assert list_versions(vault.store)[0].labels == ("locked",)


def test_a_damaged_pack_that_nothing_needs_is_set_aside(vault_folder: Path) -> None:
    """The worst-case states in which a save was impossible and fsck failed."""
    packs = vault_folder / "history.git/objects/pack"
    name = "pack-" + "a" * 40
    (packs / f"{name}.pack").write_bytes(b"PACK\0\0\0\2\0\0\0\1damaged")
    (packs / f"{name}.idx").write_bytes(b"")
    assert "damaged pack" in " ".join(repairs(vault_folder))
    assert not (packs / f"{name}.pack").exists()
    aside = vault_folder / "quarantine" / name / "pack"
    assert sorted(path.suffix for path in aside.iterdir()) == [".idx", ".pack"]
    assert_next_save_works(vault_folder)


def test_a_pack_that_lost_its_index_gets_a_new_one(vault_folder: Path) -> None:
    pack = newest_pack(vault_folder)
    pack.with_suffix(".idx").chmod(0o600)
    pack.with_suffix(".idx").unlink()
    assert numbers(vault_folder) == [4, 3, 2, 1]
    assert pack.with_suffix(".idx").exists()
    assert list((vault_folder / "quarantine").iterdir()) == []


def test_an_older_pack_that_lost_its_index_gets_a_new_one_at_the_next_opening(
    vault_folder: Path,
) -> None:
    """Nothing asked for the pack, so git would not have missed the index."""
    name = (vault_folder / "journal").read_text().split("\n")[0].split(" ")[3]
    first = vault_folder / "history.git/objects/pack" / f"pack-{name}.pack"
    first.with_suffix(".idx").chmod(0o600)
    first.with_suffix(".idx").unlink()
    with opened(vault_folder) as vault:
        assert list(map(str, vault.repairs)) == ["a damaged index of the history was made anew"]
        assert [version.number for version in list_versions(vault.store)] == [4, 3, 2, 1]
    assert first.with_suffix(".idx").exists()


def test_a_flipped_bit_of_the_newest_pack_costs_no_older_version(
    vault_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The older versions stay, the newest stays in the ring, and the next save works."""
    size = newest_pack(vault_folder).stat().st_size
    plain = sorted((vault_folder / "ring").iterdir())[-1].read_bytes()
    tried = found = 0
    for at in range(0, size, 41):
        folder = tmp_path / f"flipped-{at}"
        shutil.copytree(vault_folder, folder)
        flip_bit(newest_pack(folder), at)
        with opened(folder) as vault:
            if [v.number for v in list_versions(vault.store)][-3:] != [3, 2, 1]:
                pytest.fail(f"an older version went with a bit at {at}")
            found += bool(vault.repairs) or bool(check_vault(vault))
            lost = list_versions(vault.store)[0].number == 3
            assert [path.read_bytes() for path in copies_without_version(vault)] == [plain] * lost
        assert sorted((folder / "ring").iterdir())[-1].read_bytes() == plain
        with opened(folder) as vault:
            again = {"show/cues/1.json": b"cue 4", "show/4.json": b"x" * 500, "show/n": b"n"}
            keep_after_looking_again(vault, again)
            assert_readable(vault, again)
        tried += 1
    with capsys.disabled():
        print(f"\nbits flipped in the newest pack: {tried} tried, {found} found, 0 older ones lost")
    assert found >= tried - 1


def assert_readable(vault: Vault, parts: dict[str, bytes]) -> None:
    newest = list_versions(vault.store)[0]
    assert vault.store.read_parts(newest.commit, list(parts)) == parts


def test_a_flipped_bit_in_a_plain_copy_is_named_and_the_copy_is_never_dropped(
    vault_folder: Path,
) -> None:
    flipped = sorted((vault_folder / "ring").iterdir())[0]
    flip_bit(flipped, 0)
    with opened(vault_folder) as vault:
        vault.clock.now = vault.clock.now.replace(year=2027)  # type: ignore[attr-defined]
        for number in range(9):
            keep(vault, {"show/cues/1.json": b"later %d" % number})
        told = turn_ring(vault)
        assert flipped.name in " ".join(told)
        assert flipped.exists()
        assert flipped.name in " ".join(map(str, check_vault(vault)))


def test_a_pack_that_is_gone_comes_back_from_its_second_copy(vault_folder: Path) -> None:
    with opened(vault_folder) as vault:
        housekeep(vault)
    for pack in (vault_folder / "history.git/objects/pack").iterdir():
        pack.unlink()
    assert "came back from its second copy" in " ".join(repairs(vault_folder))
    assert numbers(vault_folder) == [4, 3, 2, 1]
    assert_next_save_works(vault_folder)


def test_a_pack_that_is_gone_without_a_second_copy_is_seen_at_a_glance(vault_folder: Path) -> None:
    assert glanced(vault_folder) == []
    (vault_folder / "history.git/objects/pack" / newest_pack(vault_folder).name).unlink()
    assert any("is gone" in sentence for sentence in glanced(vault_folder))


def glanced(folder: Path) -> list[str]:
    with opened(folder) as vault:
        return [str(damage) for damage in glance_at_vault(vault, list_versions(vault.store))]


@pytest.mark.parametrize("second_copies", ["with second copies", "without"])
def test_a_gc_of_somebody_elses_hurts_nothing(vault_folder: Path, second_copies: str) -> None:
    history = vault_folder / "history.git"
    if second_copies == "with second copies":
        with opened(vault_folder) as vault:
            housekeep(vault)
    subprocess.run(["git", "-C", str(history), "gc", "-q", "--prune=now"], check=True)
    assert numbers(vault_folder) == [4, 3, 2, 1]
    assert glanced(vault_folder) == []
    with opened(vault_folder) as vault:
        assert list_versions(vault.store)[0].labels == ("locked",)
        assert latest_good(vault.store) is not None
    assert_next_save_works(vault_folder)


def fail_late(moment: int) -> Words:
    """Fail a save after the other git has had a while to work in it."""
    time.sleep(0.02 * (moment % 4))
    raise OSError(errno.ENOSPC, "no space left on device")


@pytest.mark.parametrize("second_copies", ["with second copies", "without"])
def test_a_gc_of_somebody_elses_in_a_save_that_fails_loses_nothing(
    vault_folder: Path, second_copies: str
) -> None:
    """It folds every pack into one of its own; taking the save back must leave that alone."""
    command = ["git", "-C", str(vault_folder / "history.git"), "gc", "-q", "--prune=now"]

    def fail_after_gc() -> Words:
        subprocess.run(command, check=True)
        raise OSError(errno.ENOSPC, "no space left on device")

    with opened(vault_folder) as vault:
        if second_copies == "with second copies":
            housekeep(vault)
        with pytest.raises(OSError, match="no space left"):
            keep(vault, {"show/cues/1.json": b"too much"}, words=fail_after_gc)
        assert [version.number for version in list_versions(vault.store)] == [4, 3, 2, 1]
    assert numbers(vault_folder) == [4, 3, 2, 1]
    assert_next_save_works(vault_folder)


def test_a_pack_that_another_git_is_bringing_in_outlives_a_save_that_fails(
    vault_folder: Path,
) -> None:
    """Git marks it while it is on its way (git-fetch-pack); a mark of ours is empty."""
    theirs = [f"pack-{'5' * 40}.{ending}" for ending in ("pack", "idx", "keep")]

    def fail_after_fetch() -> Words:
        for name in theirs:
            (packs / name).write_bytes(b"fetch-pack 4711 on elsewhere\n")
        raise OSError(errno.ENOSPC, "no space left on device")

    with opened(vault_folder) as vault:
        packs = vault.paths.packs
        before = {path.name for path in packs.iterdir()}
        with pytest.raises(OSError, match="no space left"):
            keep(vault, {"show/cues/1.json": b"too much"}, words=fail_after_fetch)
        assert {path.name for path in packs.iterdir()} == before | set(theirs)


def test_a_vault_whose_packs_are_all_gone_says_so_and_keeps_the_next_save(
    vault_folder: Path,
) -> None:
    """Also where another git has packed the refs, so that the branch has no file of its own."""
    history = vault_folder / "history.git"
    subprocess.run(["git", "-C", str(history), "pack-refs", "--all"], check=True)
    for pack in (history / "objects/pack").iterdir():
        pack.unlink()
    assert "no version in the history is whole" in " ".join(repairs(vault_folder))
    with opened(vault_folder) as vault:
        assert keep(vault, {"show/cues/1.json": b"next"}).number == 5
    assert repairs(vault_folder) == []
    assert numbers(vault_folder) == [5]


def test_a_gc_of_somebody_elses_in_the_middle_of_saves_loses_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Even the harshest: what nothing leads to yet would go at once (git-gc, --prune=now)."""
    folder = make_vault(tmp_path / "vault")
    stop = threading.Event()
    tidied = 0

    def tidy() -> None:
        nonlocal tidied
        command = ["git", "-C", str(folder / "history.git"), "gc", "-q", "--prune=now"]
        while not stop.is_set():
            subprocess.run(command, capture_output=True)
            tidied += 1

    other = threading.Thread(target=tidy)
    other.start()
    reported, refused = [], 0
    try:
        end = time.monotonic() + GC_SECONDS
        while time.monotonic() < end:
            try:
                with opened(folder) as vault:
                    data = os.urandom(200)
                    with contextlib.suppress(OSError):
                        keep(vault, {"show/1.json": b"never"}, words=lambda: fail_late(tidied))
                    reported.append((keep(vault, {"show/1.json": data}), data))
            except ShowvaultError:
                refused += 1  # while the other git holds a ref
    finally:
        stop.set()
        other.join()
    with opened(folder) as vault:
        here = {version.commit: version for version in list_versions(vault.store)}
        lost = [
            version.number
            for version, data in reported
            if parts_of(vault, here[version.commit]) != {"show/1.json": data}
        ]
        assert check_vault(vault) == []
    with capsys.disabled():
        print(
            f"\ngit gc --prune=now beside saves: {tidied} times, {len(reported)} reported, "
            f"{refused} refused, {len(lost)} lost"
        )
    assert lost == []
    assert tidied > 3


CANARY = "#!/bin/sh\ntouch {canary}\n"


def test_nothing_in_a_strangers_vault_is_run(vault_folder: Path, tmp_path: Path) -> None:
    """Hooks, drivers and helpers that ran from a repository's own folder in durability's list."""
    canary, script = tmp_path / "canary", tmp_path / "script"
    script.write_text(CANARY.format(canary=canary))
    script.chmod(0o700)
    history = vault_folder / "history.git"
    (history / "hooks").mkdir()
    hooks = "pre-commit post-commit reference-transaction update post-update pre-auto-gc"
    for hook in (*hooks.split(), "post-receive", "post-index-change", "fsmonitor-watchman"):
        shutil.copy(script, history / "hooks" / hook)
    with (history / "config").open("a") as config:
        config.write(
            f"[core]\n\tfsmonitor = {script}\n\thooksPath = {history}/hooks\n"
            f"\tsshCommand = {script}\n\tpager = {script}\n\teditor = {script}\n"
            f'[filter "x"]\n\tclean = {script}\n\tsmudge = {script}\n'
            f'[diff "x"]\n\ttextconv = {script}\n\tcommand = {script}\n'
            f"[gpg]\n\tprogram = {script}\n[commit]\n\tgpgSign = true\n"
            f'[remote "origin"]\n\turl = ext::{script}\n\tpromisor = true\n'
            f"[extensions]\n\tpartialClone = origin\n[alias]\n\tcat-file = !{script}\n"
            f"[uploadpack]\n\tpackObjectsHook = {script}\n"
        )
    (history / "info").mkdir(exist_ok=True)
    (history / "info" / "attributes").write_text("* filter=x diff=x\n")
    (history / "objects" / "info" / "alternates").write_text(f"/nowhere\n|{script}\n")
    submodule = f'[submodule "x"]\n\tpath = x\n\turl = ext::{script}\n\tupdate = !{script}\n'
    with opened(vault_folder) as vault:
        odd = {"show/.gitmodules": submodule.encode(), "show/.gitattributes": b"* text=auto"}
        keep(vault, {**odd, "show/a": b"$Id$\r\n"}, label="x")
        fold_packs(vault)
        versions = list_versions(vault.store)
        assert parts_of(vault, versions[0])["show/a"] == b"$Id$\r\n"
        with contextlib.suppress(GitError):  # it may say that the transport is not allowed
            vault.store.holds("f" * 40)
        check_vault(vault)
    assert not canary.exists()


def test_objects_that_a_stranger_borrows_elsewhere_are_taken_in_and_not_relied_on(
    vault_folder: Path, tmp_path: Path
) -> None:
    """An alternate (gitrepository-layout) may be gone tomorrow."""
    elsewhere = tmp_path / "elsewhere"
    shutil.copytree(vault_folder / "history.git/objects", elsewhere)
    history = vault_folder / "history.git"
    (history / "objects/info/alternates").write_text(f"{elsewhere}\n")
    for path in (history / "objects/pack").iterdir():
        path.unlink()
    with opened(vault_folder) as vault:
        assert len(list_versions(vault.store)) == 4
        fold_packs(vault)
    shutil.rmtree(elsewhere)
    (history / "objects/info/alternates").unlink()
    assert numbers(vault_folder) == [4, 3, 2, 1]
    assert_next_save_works(vault_folder)


def test_git_variables_of_the_caller_redirect_nothing(vault_folder: Path, tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    leaked = {
        "GIT_OBJECT_DIRECTORY": str(elsewhere),
        "GIT_DIR": str(elsewhere),
        "GIT_INDEX_FILE": str(elsewhere / "index"),
        "GIT_CONFIG_COUNT": "1",
        "GIT_CONFIG_KEY_0": "core.fsync",
        "GIT_CONFIG_VALUE_0": "none",
        "GIT_TRACE": str(elsewhere / "trace"),
    }
    with opened(vault_folder, environ=os.environ | leaked) as vault:
        keep(vault, {"show/a": b"a"})
    assert list(elsewhere.iterdir()) == []
    assert_next_save_works(vault_folder)
