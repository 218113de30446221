"""What safety costs: a save as it is, against the same work with no syncs, and cp + fsync.

The unsafe one goes through the very same code on a disk whose syncs do nothing; it would lose
versions (tests/faults/test_crash_states.py shows how many). Both are measured in turns.
"""

from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from datetime import datetime
from pathlib import Path

import pytest

from showvault.files.disk import FileSystem, RealFileSystem
from showvault.files.reading import read_settled
from showvault.flows.describing import Describer
from showvault.flows.keep import Keeper
from showvault.flows.summaries import describe_sides
from showvault.interchange.registry import choose_reader
from showvault.vault.layout import create_vault
from showvault.vault.opening import open_vault
from tests.benchmarks.generated import SIZES, as_bytes, edit, make_show
from tests.benchmarks.measuring import copy_and_sync, median, seconds, settle

Tell = Callable[[str], None]
ROUNDS = 9


class Unsynced(RealFileSystem):
    """A disk that is never asked to keep anything."""

    def sync(self, descriptor: int) -> None:
        pass

    def sync_folder(self, folder: Path) -> None:
        pass


class Counting(RealFileSystem):
    """The real disk, counting its syncs."""

    def __init__(self) -> None:
        super().__init__()
        self.syncs = 0

    def sync(self, descriptor: int) -> None:
        self.syncs += 1
        super().sync(descriptor)


def now() -> datetime:
    return datetime.now().astimezone()


def say_nothing(*sides: object) -> str:
    """Words are found while the disk works; without them the disk alone is measured."""
    return "a save"


@contextmanager
def a_keeper(
    folder: Path, shows: Path, disk: FileSystem, say: Callable[..., str]
) -> Iterator[Keeper]:
    create_vault(folder, name="measured", watched=[shows], clock=now)
    with open_vault(folder, clock=now, disk=disk) as vault:
        yield Keeper(vault, "bench", choose_reader, Describer(say, 60.0))


@pytest.mark.parametrize("say", [describe_sides, say_nothing], ids=["with words", "without words"])
@pytest.mark.parametrize("size", SIZES)
def test_the_price_of_safety(
    size: str, say: Callable[..., str], tmp_path: Path, tell: Tell
) -> None:
    shows = tmp_path / "shows"
    shows.mkdir()
    path = shows / "show.json"
    show = make_show(SIZES[size])
    path.write_bytes(as_bytes(show))
    counting = Counting()
    copies, safe, unsafe, syncs = [], [], [], []
    with ExitStack() as open_vaults:
        one = open_vaults.enter_context(a_keeper(tmp_path / "safe", shows, counting, say))
        other = open_vaults.enter_context(a_keeper(tmp_path / "unsafe", shows, Unsynced(), say))
        for keeper in (one, other):
            keeper.keep([read_settled(path)], when=now())
        for number in range(ROUNDS):
            show = edit(show, 40, number)
            path.write_bytes(as_bytes(show))
            settle()
            copies.append(seconds(lambda: copy_and_sync(path, tmp_path / "copy")))
            counting.syncs = 0
            turns = [(one, safe), (other, unsafe)]
            for keeper, times in turns if number % 2 else reversed(turns):
                settle()
                times.append(
                    seconds(lambda k=keeper: k.keep([read_settled(path)], when=now()))  # type: ignore[misc]
                )
            syncs.append(counting.syncs)
    copy, with_syncs, without = median(copies), median(safe), median(unsafe)
    tell(
        f"{size:>7}, {'words' if say is describe_sides else 'no words'}: safe / unsafe "
        f"{with_syncs / without:4.2f}; safe / cp + fsync {with_syncs / copy:6.2f}; unsafe / cp + "
        f"fsync {without / copy:6.2f} ({int(median(list(map(float, syncs))))} syncs, "
        f"{copy * 1e3:.1f} ms)"
    )
    assert min(syncs) > 3
