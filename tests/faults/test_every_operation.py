"""Fail the n-th operation on the disk, for every n: nothing is lost, the next save works."""

import errno
import os
import random
import shutil
from collections.abc import Callable
from datetime import timedelta
from itertools import count
from pathlib import Path

import pytest
from msgspec.structs import replace

from showvault.errors import ShowvaultError
from showvault.files.disk import DISK
from showvault.vault.checking import check_vault
from showvault.vault.housekeeping import fold_packs, housekeep
from showvault.vault.labelling import set_label
from showvault.vault.opening import Vault, open_vault
from showvault.vault.publishing import WORTH_A_THREAD
from showvault.vault.versions import Version, list_versions
from tests.faults.failing_disk import FailingDisk
from tests.faults.telling import Tell
from tests.vault.builders import Ticking, keep, make_vault, opened, parts_of

FULL = os.environ.get("SHOWVAULT_FAULTS") == "full"
in_full = pytest.mark.skipif(not FULL, reason="NOT RUN: only in full (SHOWVAULT_FAULTS=full)")

LASTING = 1000
"""Calls in a row that fail: all of them."""

FIRST = {"show/cues/1.json": b"one", "show/cues/2.json": b"two"}
SECOND = {"show/cues/2.json": b"TWO", "show/cues/3.json": b"three"}


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A vault with a few versions, one of them set aside, one labelled, the ring at its limit."""
    folder = make_vault(tmp_path_factory.mktemp("template") / "vault")
    clock = Ticking()
    with open_vault(folder, clock=clock) as vault:
        keep(vault, FIRST, label="first")
        keep(vault, {}, data=b'{"cut', role="set_aside", good=False, reason="cut off")
        for number in range(9):
            keep(vault, {"show/cues/1.json": b"one %d" % number})
            clock.now += timedelta(hours=2)
    (folder / "ballast").write_bytes(b"")  # it takes no part, and would be copied for every point
    return folder


def sweep(
    template: Path,
    tmp_path: Path,
    act: Callable[[Vault], object],
    code: int,
    stays: int,
    only: str = "",
    step: int = 1,
) -> tuple[int, int]:
    """Let ``act`` meet a disk that fails at call 1, 2, … until it meets none. (tried, refused)."""
    refused = 0
    tried = 0
    for n in count(1, step):
        folder = tmp_path / f"{code}-{stays}-{n}"
        shutil.copytree(template, folder)
        with opened(folder) as vault:
            before = list_versions(vault.store)
            kept_parts = parts_of(vault, before[0])
            disk = FailingDisk(n, code, stays=stays, only=only)
            vault.disk = vault.store.disk = disk
            reported = None
            try:
                reported = act(vault)
            except ShowvaultError as error:
                assert error.exit_code in (5, 6, 7), error
                refused += 1
            hit = disk.calls >= n
            vault.disk = vault.store.disk = DISK
            judge(vault, before, kept_parts, reported)
        with opened(folder) as vault:
            judge(vault, before, kept_parts, reported)
            again = keep(vault, SECOND)
            assert list_versions(vault.store)[0] == again
            assert parts_of(vault, again).items() >= SECOND.items()
            assert check_vault(vault) == []
        shutil.rmtree(folder)
        if not hit:
            break
        tried += 1
    return tried, refused


def judge(vault: Vault, before: list[Version], parts: dict[str, bytes], reported: object) -> None:
    now = list_versions(vault.store)
    for old, new in zip(before, now[-len(before) :], strict=True):
        assert replace(new, labels=()) == replace(old, labels=())
        assert set(new.labels) >= set(old.labels)
    assert parts_of(vault, now[len(now) - len(before)]) == parts
    if isinstance(reported, Version):
        assert now[0].commit == reported.commit


def save_parts(vault: Vault) -> Version:
    return keep(vault, SECOND)


def save_whole_file(vault: Vault) -> Version:
    return keep(vault, {}, data=b"desk file", role="opaque", path="/shows/evening.desk")


def save_set_aside(vault: Vault) -> Version:
    return keep(vault, {}, data=b'{"cut', role="set_aside", good=False, reason="cut off")


def give_label(vault: Vault) -> None:
    set_label(vault, list_versions(vault.store, 1)[0].commit, "opening", who="Ada")


@pytest.mark.parametrize(
    ("code", "stays"),
    [
        pytest.param(errno.EIO, 1, id="EIO once"),
        pytest.param(errno.ENOSPC, LASTING, id="ENOSPC from then on"),
        pytest.param(errno.EIO, LASTING, id="EIO from then on", marks=in_full),
        pytest.param(errno.ENOSPC, 1, id="ENOSPC once", marks=in_full),
    ],
)
def test_a_save_survives_a_failure_at_any_step(
    template: Path, tmp_path: Path, code: int, stays: int, tell: Tell
) -> None:
    tried, refused = sweep(template, tmp_path, save_parts, code, stays)
    tell(f"save, {errno.errorcode[code]}: {tried} points, {refused} refused, 0 lost")
    assert refused >= 20


@pytest.mark.parametrize(
    ("code", "only"),
    [
        (errno.EDQUOT, "write"),
        (errno.EFBIG, "open"),
        pytest.param(errno.EFBIG, "write", marks=in_full),
        pytest.param(errno.EDQUOT, "open", marks=in_full),
    ],
)
def test_a_quota_or_a_limit_on_files_is_told_as_a_full_disk_at_any_step(
    template: Path, tmp_path: Path, code: int, only: str, tell: Tell
) -> None:
    told: list[str] = []

    def save(vault: Vault) -> Version:
        try:
            return save_parts(vault)
        except ShowvaultError as error:
            told.append(error.hint or "")
            raise

    tried, refused = sweep(template, tmp_path, save, code, 1, only)
    tell(f"save, {errno.errorcode[code]} in {only}: {tried} points, {refused} refused, 0 lost")
    assert refused >= 5
    assert all("make room" in hint for hint in told)


@pytest.mark.parametrize("only", ["open", "sync"])
def test_a_large_save_survives_a_failure_in_any_of_its_threads(
    template: Path, tmp_path: Path, only: str, tell: Tell
) -> None:
    """Beyond a size the ring's copies are written beside the packing."""

    def save(vault: Vault) -> Version:
        noise = random.Random(1).randbytes(WORTH_A_THREAD + 1)
        return keep(vault, {"show/noise": noise}, data=noise)

    tried, refused = sweep(template, tmp_path, save, errno.EIO, 1, only)
    tell(f"large save, EIO in {only}: {tried} points, {refused} refused, 0 lost")
    assert refused >= 4


@pytest.mark.parametrize(
    ("act", "least"),
    [
        (save_whole_file, 15),
        (save_set_aside, 10),
        (housekeep, 2),
        (give_label, 5),
        (fold_packs, 4),
    ],
)
def test_other_changes_survive_a_failure_at_any_step(
    template: Path, tmp_path: Path, act: Callable[[Vault], object], least: int, tell: Tell
) -> None:
    step = 3 if act is fold_packs and not FULL else 1
    tried, refused = sweep(template, tmp_path, act, errno.EIO, 1, step=step)
    tell(f"{act.__name__}, EIO: {tried} points, {refused} refused, 0 lost")
    assert refused >= least


def test_a_recovery_survives_a_failure_at_any_step(
    template: Path, tmp_path: Path, tell: Tell
) -> None:
    broken = tmp_path / "broken"
    shutil.copytree(template, broken)
    with opened(broken) as vault:
        before = list_versions(vault.store)
    journal = broken / "journal"
    lines = journal.read_bytes().splitlines(keepends=True)
    journal.write_bytes(b"".join(lines[:-1]))  # published, not yet reported
    (broken / "history.git/refs/heads/main.lock").write_bytes(b"")
    (broken / "history.git/objects/pack/tmp_pack_abc").write_bytes(b"PACK")
    (broken / "ring/.pending-000099_2026-11-24_22-00-00_x.json").write_bytes(b"x")
    (broken / "ring/.showvault-1-1").write_bytes(b"x")
    n = refused = 0
    while True:
        n += 1
        folder = tmp_path / f"recovery-{n}"
        shutil.copytree(broken, folder)
        disk = FailingDisk(n)
        try:
            opened(folder, disk=disk).close()
        except ShowvaultError:
            refused += 1
        with opened(folder) as vault:
            assert list_versions(vault.store) == before
            keep(vault, SECOND)
            assert check_vault(vault) == []
        if disk.calls < n:
            break
    assert refused >= 10
    tell(f"recovery: {n - 1} points, {refused} refused, 0 lost")
