"""Git fails, at every call and at single system calls: refused or kept, never a lie."""

import os
import random
import shutil
import stat
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from showvault.errors import ShowvaultError
from showvault.files.disk import DiskError
from showvault.vault.checking import check_vault
from showvault.vault.git import GitMissingError
from showvault.vault.housekeeping import fold_packs
from showvault.vault.opening import Vault
from showvault.vault.versions import Version, list_versions
from tests.vault.builders import keep, make_vault, opened, parts_of

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="the stand-in is a shell script")

SHIM = """#!/bin/sh
n=$(($(cat "$SHIM_FOLDER/count") + 1))
echo $n > "$SHIM_FOLDER/count"
if [ "$n" = "$SHIM_AT" ]; then
    case "$SHIM_HOW" in
        before) exit 128;;
        after) REAL "$@"; exit 1;;
        killed) kill -9 $$;;
        limited) ulimit -f 1;;
        *) set -- -e "trace=${SHIM_HOW%%:*}" -e "inject=$SHIM_HOW" REAL "$@"
           exec strace -f -qq -o /dev/null "$@";;
    esac
fi
exec REAL "$@"
"""
PARTS = {"show/cues/2.json": b"TWO", "show/cues/3.json": b"three" * 2000}
CALLS = ("fsync", "write", "pwrite64", "rename", "link", "openat", "mkdir", "close", "ftruncate")


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = make_vault(tmp_path_factory.mktemp("template") / "vault")
    with opened(folder) as vault:
        for number in range(3):
            keep(vault, {"show/cues/1.json": b"%d" % number})
    return folder


@pytest.fixture
def shim(tmp_path: Path) -> Iterator[dict[str, str]]:
    """An environment whose git is a stand-in that fails once when told to."""
    folder = tmp_path / "shim"
    folder.mkdir()
    real = shutil.which("git")
    assert real is not None
    (folder / "git").write_text(SHIM.replace("REAL", real))
    (folder / "git").chmod(stat.S_IRWXU)
    yield {**os.environ, "PATH": f"{folder}:{os.environ['PATH']}", "SHIM_FOLDER": str(folder)}


def save(vault: Vault) -> Version:
    return keep(vault, PARTS)


def save_whole_file(vault: Vault) -> Version:
    return keep(vault, {}, data=b"desk" * 5000, role="opaque", path="/shows/evening.desk")


def run(
    template: Path, folder: Path, shim: dict[str, str], at: int, how: str, act: object
) -> tuple[bool, bool]:
    """(the failure was met, the change was refused); fails where anything is lost."""
    shutil.copytree(template, folder)
    count = Path(shim["SHIM_FOLDER"]) / "count"
    count.write_text("0")
    environ = shim | {"SHIM_AT": str(at), "SHIM_HOW": how}
    with opened(template) as vault:
        before = list_versions(vault.store)
    reported = None
    refused = False
    try:
        with opened(folder, environ=environ) as vault:
            reported = act(vault)  # type: ignore[operator]
    except ShowvaultError as error:
        assert error.exit_code in (5, 6, 7), error
        refused = True
    met = int(count.read_text()) >= at
    with opened(folder) as vault:
        now = list_versions(vault.store)
        assert now[-3:] == before
        if isinstance(reported, Version):
            assert now[0] == reported
        again = keep(vault, PARTS)
        assert parts_of(vault, again).items() >= PARTS.items()
        assert check_vault(vault) == []
    shutil.rmtree(folder)
    return met, refused


@pytest.mark.parametrize("act", [save, save_whole_file, fold_packs])
def test_a_git_that_fails_at_any_call_loses_nothing(
    template: Path,
    tmp_path: Path,
    shim: dict[str, str],
    act: object,
    capsys: pytest.CaptureFixture[str],
) -> None:
    tried = refusals = 0
    for how in ("before", "after", "killed"):
        for at in range(1, 30):
            met, refused = run(template, tmp_path / f"{how}-{at}", shim, at, how, act)
            if not met:
                break
            tried += 1
            refusals += refused
    with capsys.disabled():
        name = getattr(act, "__name__", "")
        print(f"\ngit fails, {name}: {tried} calls, {refusals} refused, 0 lost")
    assert tried >= 3


def can_trace() -> bool:
    return shutil.which("strace") is not None and (
        subprocess.run(["strace", "-o", "/dev/null", "true"], capture_output=True).returncode == 0
    )


def test_a_system_call_of_git_that_fails_loses_nothing(
    template: Path, tmp_path: Path, shim: dict[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    if not can_trace():
        pytest.skip("NOT RUN: strace is not here or may not trace")
    tried = refusals = 0
    full = os.environ.get("SHOWVAULT_FAULTS") == "full"
    for at in (1, 2):  # 1 packs everything anew, 2 looks at that pack closely
        for call in CALLS:
            for when in range(1, 9) if full else (1, 2, 3, 4):
                for code in ("EIO", "ENOSPC") if full else ("EIO",):
                    how = f"{call}:error={code}:when={when}"
                    folder = tmp_path / f"{at}-{call}-{when}-{code}"
                    _, refused = run(template, folder, shim, at, how, fold_packs)
                    tried += 1
                    refusals += refused
    with capsys.disabled():
        print(f"\nsystem calls of git: {tried} injected, {refusals} refused, 0 lost")
    assert refusals >= 8


def test_a_limit_on_the_size_of_gits_files_costs_a_second_try(
    template: Path, tmp_path: Path, shim: dict[str, str]
) -> None:
    """`ulimit -f` in git's process alone: EFBIG, and SIGXFSZ kills it."""
    folder = tmp_path / "limited"
    shutil.copytree(template, folder)
    (Path(shim["SHIM_FOLDER"]) / "count").write_text("0")
    environ = shim | {"SHIM_AT": "1", "SHIM_HOW": "limited"}
    with opened(folder) as vault:
        keep(vault, {"show/noise.bin": random.Random(1).randbytes(100_000)})
    with opened(folder, environ=environ) as vault:
        fold_packs(vault)
        assert int((Path(shim["SHIM_FOLDER"]) / "count").read_text()) >= 3  # packed, packed, read
        assert len(vault.store.pack_names()) == 1
        assert check_vault(vault) == []


def test_a_limit_on_the_size_of_our_own_files_is_told_as_a_full_disk(
    template: Path, tmp_path: Path
) -> None:
    import resource

    folder = tmp_path / "limited"
    shutil.copytree(template, folder)
    noise = {"show/noise.bin": random.Random(1).randbytes(300_000)}
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    with opened(folder) as vault:
        resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, before[1]))
        try:
            with pytest.raises(DiskError) as caught:
                keep(vault, noise, data=b"small")
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, before)
        assert "make room" in (caught.value.hint or "")
        assert parts_of(vault, keep(vault, noise)).items() >= noise.items()
        assert check_vault(vault) == []


def test_a_git_that_is_missing_is_told_with_the_way_out(template: Path) -> None:
    with pytest.raises(GitMissingError) as caught:
        opened(template, environ={"PATH": "/nowhere"})
    assert "install git" in (caught.value.hint or "")
