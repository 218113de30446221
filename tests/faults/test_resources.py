"""Many saves in one process: nothing is left open, running or in memory that the last needs not."""

import gc
import os
import sys
import threading
from pathlib import Path

import pytest

from showvault.files.reading import read_settled
from showvault.flows.describing import Describer
from showvault.flows.keep import Keeper
from showvault.flows.summaries import describe_sides
from showvault.interchange.registry import choose_reader
from showvault.vault.layout import create_vault
from showvault.vault.versions import list_versions
from tests.flows.rooms import a_save
from tests.vault.builders import Ticking, opened

SAVES = int(os.environ.get("SHOWVAULT_SAVES", "160"))
"""Of which the packs are folded more than once: a night; 20,000 are a week and more."""

WARM = 100
"""Saves until every cache is as full as it gets."""

A_SAVE = 30
"""Pieces of memory that one more version may cost: its hash is remembered, and little else."""


@pytest.mark.skipif(sys.platform != "linux", reason="handles and children are read from /proc")
def test_a_night_of_saves_leaves_no_handles_children_or_memory(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shows = tmp_path / "shows"
    shows.mkdir()
    show = shows / "evening.json"
    clock = Ticking()
    create_vault(tmp_path / "vault", name="Evening", watched=[shows], clock=clock)
    with opened(tmp_path / "vault") as vault:
        keeper = Keeper(vault, "Ada", choose_reader, Describer(describe_sides))

        def save(numbers: range) -> None:
            for number in numbers:
                show.write_bytes(a_save(number % 101, title=f"Evening {number}"))
                keeper.keep([read_settled(show)], when=clock())
                keeper.afterwards()

        save(range(WARM))
        before = counted()
        save(range(WARM, SAVES))
        after = counted()
        assert len(list_versions(vault.store)) == SAVES
        packs = len(vault.store.pack_names())
    with capsys.disabled():
        print(
            f"\n{SAVES} saves: handles {before[0]} → {after[0]}, "
            f"children {before[1]} → {after[1]}, threads {before[2]} → {after[2]}, {packs} packs, "
            f"{(after[3] - before[3]) / (SAVES - WARM):.1f} pieces of memory a save"
        )
    assert after[:3] == before[:3]
    assert (after[3] - before[3]) / (SAVES - WARM) < A_SAVE
    assert packs < 70


def counted() -> tuple[int, int, int, int]:
    """Open handles, child processes, threads, and pieces of memory that Python holds."""
    gc.collect()
    children = Path(f"/proc/self/task/{os.getpid()}/children").read_text().split()
    handles = len(os.listdir("/proc/self/fd"))
    return handles, len(children), threading.active_count(), sys.getallocatedblocks()
