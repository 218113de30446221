"""A folder of shows, a vault for it, and a keeper: what most tests of the flows begin with."""

import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from showvault.files.reading import read_settled
from showvault.flows.describing import Describer
from showvault.flows.keep import Keeper
from showvault.flows.outcomes import Kept, Saying, Unchanged
from showvault.flows.summaries import describe_sides
from showvault.interchange.registry import choose_reader
from showvault.show.parts import ShowParts
from showvault.show.reading import Wholeness
from showvault.show.writing import write_show
from showvault.vault.layout import create_vault
from showvault.vault.opening import Vault, open_vault
from tests.builders import a_cue, a_show_of_cues
from tests.vault.builders import START, Ticking

Say = Callable[[ShowParts | None, ShowParts], str]


@dataclass
class Room:
    """One production's folder and vault."""

    shows: Path
    vault: Vault
    clock: Ticking
    keeper: Keeper
    saves: int = field(default=0)

    def save(self, data: bytes, name: str = "evening.json") -> Path:
        """Save a file as a desk would, each a minute after the last."""
        path = self.shows / name
        path.write_bytes(data)
        self.saves += 1
        moment = (START + timedelta(minutes=self.saves)).timestamp()
        os.utime(path, (moment, moment))
        return path

    def keep(self, *paths: Path, when: datetime | None = None, **saying: Any) -> Kept | Unchanged:
        """Keep files that settled together; return what became of the last."""
        files = [read_settled(path) for path in paths]
        return self.keeper.keep(files, when=when or self.clock(), saying=Saying(**saying))[-1]

    def another_keeper(self, say: Say = describe_sides, seconds: float = 3.0) -> Keeper:
        """Return a keeper that knows nothing yet, as a process started later would."""
        return Keeper(self.vault, "Ada", choose_reader, Describer(say, seconds))


def open_room(tmp_path: Path) -> Iterator[Room]:
    """Lay out a new room; it closes when the iterator goes on."""
    shows = tmp_path / "shows"
    shows.mkdir()
    clock = Ticking()
    folder = tmp_path / "vault"
    create_vault(folder, name="Evening", watched=[shows], clock=clock)
    with open_vault(folder, clock=clock) as vault:
        keeper = Keeper(vault, "Ada", choose_reader, Describer(describe_sides))
        yield Room(shows, vault, clock, keeper)


def a_save(level: float = 50, title: str = "Evening", **more: Any) -> bytes:
    """Return a small show in which one level of one cue is as said."""
    cues = {str(number): a_cue({"1": {"Dimmer": number}}) for number in range(2, 30)}
    cues["1"] = a_cue({"1": {"Dimmer": level}})
    return write_show(a_show_of_cues(cues, title=title, **more))


class ReaderOfExports:
    """A reader that takes every export for whole; what reading does is a test's own."""

    name, version, role = "exports", "1", "source"
    extensions, options = (".asc",), {}

    def sniff(self, name, head):
        return True

    def judge(self, data):
        return Wholeness("whole")
