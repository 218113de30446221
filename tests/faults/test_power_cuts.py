"""Real power cuts: the file system stops in the middle of saves, and is mounted again.

The SHUTDOWN ioctl of the Linux kernel (`XFS_IOC_GOINGDOWN`, the same for ext4) with the flag that
writes no journal back is what the file systems' own crash tests use (xfstests, `godown`).
"""

import fcntl
import hashlib
import os
import random
import shutil
import struct
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from showvault.vault.checking import check_vault
from showvault.vault.versions import list_versions
from tests.vault.builders import keep, make_vault, opened

GOINGDOWN = 0x8004587D
NO_LOG_FLUSH = 2
CUTS = int(os.environ.get("SHOWVAULT_CUTS", "12"))
"""For each file system; 60 were tried where the protocol was found."""

REPOSITORY = Path(__file__).parents[2]
MAKERS = {"ext4": ["mkfs.ext4", "-q", "-F"], "xfs": ["mkfs.xfs", "-q", "-f"]}


class LoopDisk:
    """A file system in a file, mounted."""

    def __init__(self, folder: Path, kind: str) -> None:
        self.image, self.place, self.kind = folder / "image", folder / "mounted", kind
        self.place.mkdir()
        with self.image.open("wb") as file:
            file.truncate(320 * 1024 * 1024)
        subprocess.run([*MAKERS[kind], str(self.image)], check=True, capture_output=True)
        self.mount()

    def mount(self) -> None:
        subprocess.run(
            ["mount", "-o", "loop", str(self.image), str(self.place)],
            check=True,
            capture_output=True,
        )

    def unmount(self) -> None:
        for _ in range(50):
            if subprocess.run(["umount", str(self.place)], capture_output=True).returncode == 0:
                return
            time.sleep(0.1)  # a killed child may hold it for a moment
        raise OSError("the file system cannot be unmounted")

    def cut_power(self) -> None:
        descriptor = os.open(self.place, os.O_RDONLY)
        try:
            fcntl.ioctl(descriptor, GOINGDOWN, struct.pack("I", NO_LOG_FLUSH))
        finally:
            os.close(descriptor)


@pytest.fixture(params=["ext4", "xfs"])
def disk(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[LoopDisk]:
    if sys.platform != "linux" or os.geteuid() != 0 or not shutil.which(MAKERS[request.param][0]):
        pytest.skip(f"NOT RUN: mounting {request.param} needs root on Linux and its mkfs")
    try:
        loop = LoopDisk(tmp_path_factory.mktemp("disk"), request.param)
    except subprocess.CalledProcessError as error:
        pytest.skip(f"NOT RUN: {request.param} cannot be mounted here: {error.stderr!r}")
    yield loop
    subprocess.run(["umount", str(loop.place)], capture_output=True)


def run_until_cut(disk: LoopDisk, command: list[str], chance: random.Random) -> list[str]:
    """The lines a program printed until the power went; it is killed afterwards."""
    child = subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        cwd=REPOSITORY,
        start_new_session=True,
    )
    assert child.stdout is not None
    assert child.stdout.readline() == "ready\n"
    lines: list[str] = []
    source = child.stdout
    listener = threading.Thread(target=lambda: lines.extend(iter(source.readline, "")))
    listener.start()
    until = time.monotonic() + chance.uniform(0.05, 0.5)
    while time.monotonic() < until:
        if chance.random() < 0.2:  # somebody else syncs now and then, as on any real machine
            other = disk.place / "other"
            descriptor = os.open(other, os.O_WRONLY | os.O_CREAT)
            os.write(descriptor, b"x")
            os.fsync(descriptor)
            os.close(descriptor)
        time.sleep(0.01)
    reported = list(lines)  # before the cut: a dead disk may still call a sync a success
    disk.cut_power()
    os.killpg(child.pid, 9)
    child.wait()
    listener.join()
    source.close()
    return [line.rstrip("\n") for line in reported]


def cut_again_and_again(
    disk: LoopDisk, command: list[str], judge: Callable[[list[str]], tuple[int, bool]]
) -> tuple[int, int, int]:
    """(reported, cuts that lost something that was reported, cuts after which nothing opened)."""
    chance = random.Random(60)
    reported: list[str] = []
    losing = unreadable = 0
    for _ in range(CUTS):
        reported += run_until_cut(disk, [*command, str(chance.random())], chance)
        disk.unmount()
        disk.mount()
        lost, readable = judge(reported)
        losing += lost > 0
        unreadable += not readable
        if not readable:
            return len(reported), losing, unreadable
    return len(reported), losing, unreadable


@pytest.mark.mounts
def test_no_power_cut_loses_what_was_reported(
    disk: LoopDisk, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = make_vault(disk.place / "vault")
    code = (
        "import sys; from tests.faults.saving_child import main;"
        "main(sys.argv[1], sys.argv[2], '1000', 'tidy')"
    )

    def judge(reported: list[str]) -> tuple[int, bool]:
        with opened(folder) as vault:
            kept = {version.commit for version in list_versions(vault.store)}
            lost = 0
            for line in reported:
                _, _, commit, sha256, names = line.split(" ")
                paths = names.split(",")
                parts = vault.store.read_parts(commit, paths) if commit in kept else {}
                whole = b"".join(parts.get(path, b"") for path in paths)
                lost += hashlib.sha256(whole).hexdigest() != sha256
            keep(vault, {"show/next.json": b"%d" % len(reported)})
            assert check_vault(vault) == []
            return lost, True

    command = [sys.executable, "-c", code, str(folder)]
    reported, losing, unreadable = cut_again_and_again(disk, command, judge)
    with capsys.disabled():
        print(
            f"\npower cuts, {disk.kind}: {CUTS} cuts, {reported} reported, "
            f"{losing} cuts lost one, {unreadable} left the vault unreadable"
        )
    assert (losing, unreadable) == (0, 0)
    assert reported > CUTS


ADD_AND_COMMIT = """
import pathlib, random, subprocess, sys
folder = pathlib.Path(sys.argv[1])
chance = random.Random(sys.argv[2])
git = ["git", "-C", str(folder), "-c", "user.name=a", "-c", "user.email=a"]
print("ready", flush=True)
while True:
    (folder / "show.json").write_bytes(chance.randbytes(100_000))
    subprocess.run([*git, "add", "show.json"], check=True)
    subprocess.run([*git, "commit", "-q", "-m", "save"], check=True)
    done = subprocess.run([*git, "rev-parse", "HEAD"], check=True, capture_output=True, text=True)
    print(done.stdout.strip(), flush=True)
"""


@pytest.mark.mounts
def test_the_same_cuts_do_lose_what_git_add_and_commit_reported(
    disk: LoopDisk, capsys: pytest.CaptureFixture[str]
) -> None:
    """The proof that this test can fail."""
    folder = disk.place / "plain"
    subprocess.run(["git", "init", "-q", str(folder)], check=True)
    subprocess.run(["sync"], check=True)

    def judge(reported: list[str]) -> tuple[int, bool]:
        for lock in (folder / ".git").glob("**/*.lock"):
            lock.unlink()
        asked = subprocess.run(
            ["git", "-C", str(folder), "rev-list", "--objects", "HEAD"],
            capture_output=True,
            text=True,
        )
        listed = set(asked.stdout.split())
        return sum(line not in listed for line in reported), asked.returncode == 0

    command = [sys.executable, "-c", ADD_AND_COMMIT, str(folder)]
    reported, losing, unreadable = cut_again_and_again(disk, command, judge)
    with capsys.disabled():
        print(
            f"\npower cuts, {disk.kind}, git add + git commit: {reported} reported, "
            f"{losing} cuts lost one, {unreadable} left HEAD unreadable (then it was over)"
        )
    assert losing + unreadable > 0
