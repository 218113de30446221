"""Kill -9 at random moments of a save: nothing reported is lost, the next save works."""

import hashlib
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from showvault.vault.checking import check_vault
from showvault.vault.versions import list_versions
from tests.vault.builders import keep_after_looking_again, make_vault, opened

KILLS = int(os.environ.get("SHOWVAULT_KILLS", "200"))
"""At least 200 in every run; more when asked for."""

REPOSITORY = Path(__file__).parents[2]


@pytest.mark.skipif(sys.platform == "win32", reason="there is no kill -9 on Windows")
def test_nothing_reported_is_lost_when_a_save_is_killed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = make_vault(tmp_path / "vault")
    chance = random.Random(6)
    reported: dict[str, tuple[int, str, list[str]]] = {}
    cut_off = 0
    for kill in range(KILLS):
        told, was_cut = run_and_kill(folder, chance, kill)
        reported |= told
        cut_off += was_cut
        with opened(folder) as vault:
            version = keep_after_looking_again(vault, {"show/next.json": b"%d" % kill})
            assert list_versions(vault.store, 1) == [version]
    with opened(folder) as vault:
        kept = {version.commit: version for version in list_versions(vault.store)}
        lost = [commit for commit in reported if commit not in kept]
        differing = [
            commit
            for commit, (_, sha256, paths) in reported.items()
            if commit in kept and sha256 != hash_parts(vault.store.read_parts(commit, paths), paths)
        ]
        numbers = sorted(version.number for version in kept.values())
        damages = check_vault(vault)
    with capsys.disabled():
        print(
            f"\nkill -9: {KILLS} kills, {cut_off} in the middle of a save, "
            f"{len(reported)} reported, {len(lost)} lost, {len(differing)} differ"
        )
    assert (lost, differing, damages) == ([], [], [])
    assert numbers == list(range(1, len(numbers) + 1))
    assert cut_off > KILLS // 4


def run_and_kill(
    folder: Path, chance: random.Random, seed: int
) -> tuple[dict[str, tuple[int, str, list[str]]], bool]:
    """What a child reported before it was killed, and whether it was killed while saving."""
    child = subprocess.Popen(
        [sys.executable, "-m", "tests.faults.saving_child", str(folder), str(seed), "1000", "tidy"],
        stdout=subprocess.PIPE,
        cwd=REPOSITORY,
        start_new_session=True,
    )
    assert child.stdout is not None
    assert child.stdout.readline() == b"ready\n"
    time.sleep(chance.uniform(0.0, 0.12))  # the moment of the kill is the point of this test
    if chance.random() < 0.5:
        os.killpg(child.pid, signal.SIGKILL)
    else:
        child.send_signal(signal.SIGKILL)  # its git works on for a while
    child.wait()
    lines = child.stdout.read().decode().splitlines()
    child.stdout.close()
    told = {}
    for line in lines:
        _, number, commit, sha256, names = line.split(" ")
        told[commit] = (int(number), sha256, names.split(","))
    leftovers = [*folder.glob("ring/.pending-*"), *folder.glob("locks/writer.holder")]
    return told, bool(leftovers)


def hash_parts(parts: dict[str, bytes], paths: list[str]) -> str:
    return hashlib.sha256(b"".join(parts[path] for path in paths)).hexdigest()
