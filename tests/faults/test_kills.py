"""Kill -9 at random moments of the real command: nothing reported is lost, the next save works."""

import hashlib
import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import NamedTuple

import pytest

from showvault.files.reading import read_settled
from showvault.flows.describing import Describer
from showvault.flows.keep import Keeper
from showvault.flows.outcomes import Kept
from showvault.flows.stored import bytes_of_file
from showvault.flows.summaries import describe_sides
from showvault.interchange.registry import choose_reader
from showvault.vault.checking import check_vault
from showvault.vault.versions import list_versions
from tests.flows.rooms import a_save
from tests.stories.desk import Desk
from tests.vault.builders import Ticking, opened

IN_FULL = "200" if os.environ.get("SHOWVAULT_FAULTS") == "full" else "40"
KILLS = int(os.environ.get("SHOWVAULT_KILLS", IN_FULL))

EARLIEST = 0.3
"""Of the time that a command takes: before it, Python has not begun to save."""


class Reported(NamedTuple):
    """What a command said is kept."""

    number: int
    sha256: str


@pytest.mark.skipif(sys.platform == "win32", reason="there is no kill -9 on Windows")
def test_nothing_reported_is_lost_when_a_snapshot_is_killed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    desk = Desk(tmp_path)
    chance = random.Random(6)
    seconds = time_a_snapshot(desk)
    reported: list[Reported] = []
    cut_off = 0
    for kill in range(KILLS):
        desk.save("evening.json", a_save(kill % 101, title=f"Evening {kill}"))
        desk.save("desk.show", chance.randbytes(chance.randrange(10, 200_000)))
        reported += snapshot_and_kill(desk, chance, chance.uniform(EARLIEST, 1.05) * seconds)
        cut_off += was_cut_off(desk.vault)
        reported += save_once_more(desk, kill)
    with opened(desk.vault) as vault:
        versions = list_versions(vault.store)
        kept = {
            (version.number, hashlib.sha256(bytes_of_file(vault.store, version, file)).hexdigest())
            for version in versions
            for file in version.files
        }
        damages = check_vault(vault)
    lost = [told for told in reported if told not in kept]
    with capsys.disabled():
        print(
            f"\nkill -9 of showvault snapshot: {KILLS} kills, {cut_off} in the middle of a save, "
            f"{len(reported)} files of versions reported, {len(lost)} lost"
        )
    assert (lost, damages) == ([], [])
    numbers = sorted(version.number for version in versions)
    assert numbers == list(range(1, len(numbers) + 1))
    assert cut_off > KILLS // 10


def time_a_snapshot(desk: Desk) -> float:
    """How many seconds a snapshot takes that nobody disturbs, with the vault made before."""
    desk.snapshot("evening.json", a_save(0))
    desk.save("evening.json", a_save(1))
    began = time.monotonic()
    desk.do("snapshot", desk.shows)
    return time.monotonic() - began


def snapshot_and_kill(desk: Desk, chance: random.Random, after: float) -> list[Reported]:
    """Run the command, kill it after so many seconds; what it had reported by then."""
    command = [sys.executable, "-m", "showvault.cli.app", "snapshot", str(desk.shows)]
    child = subprocess.Popen(
        [*command, "--vault", str(desk.vault), "--format", "json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env=desk.environment,
        start_new_session=True,
    )
    time.sleep(after)  # the moment of the kill is the point of this test
    if chance.random() < 0.5:
        os.killpg(child.pid, signal.SIGKILL)
    else:
        child.send_signal(signal.SIGKILL)  # a git that it started works on for a while
    said, _ = child.communicate()
    try:
        told = json.loads(said)
    except json.JSONDecodeError:  # nothing, or not to its end
        return []
    return [Reported(one["number"], one["sha256"]) for one in told["kept"]]


def was_cut_off(vault: Path) -> bool:
    """Whether a save had begun and had not ended: only then do these lie there."""
    return any(vault.glob("ring/.pending-*")) or any(vault.glob("locks/writer.holder"))


def save_once_more(desk: Desk, kill: int) -> list[Reported]:
    """Mend and save as the next command would, and see that this is the newest version."""
    path = desk.save("evening.json", a_save(kill % 101, title=f"After kill {kill}"))
    with opened(desk.vault) as vault:
        keeper = Keeper(vault, "Ada", choose_reader, Describer(describe_sides))
        (outcome,) = keeper.keep([read_settled(path)], when=Ticking()())
        assert isinstance(outcome, Kept)
        assert list_versions(vault.store, 1)[0].commit == outcome.version.commit
        return [Reported(outcome.version.number, outcome.sha256)]
