"""What comes of a file that rests, also where things fail in the middle."""

from collections.abc import Sequence
from datetime import datetime
from hashlib import sha256
from pathlib import Path

import pytest

from showvault.files.reading import (
    FileIdentity,
    FileTooBigError,
    SettledFile,
    StillChangingError,
    read_settled,
)
from showvault.flows.outcomes import Kept as KeptVersion
from showvault.flows.outcomes import SetAside as SetAsideVersion
from showvault.flows.outcomes import Unchanged
from showvault.watch import saving as rules
from showvault.watch.events import (
    Kept,
    NotReadableYet,
    Ready,
    Recovered,
    SetAside,
    Skipped,
    Trouble,
    WatchEvent,
)
from showvault.watch.kinds import KnownKinds
from showvault.watch.saving import Saving
from showvault.watch.settling import Glimpse, Settled, Settling
from tests.fakes import FakeClock
from tests.watch.evening import Evening
from tests.watch.keepers import NotingKeeper, full_disk


class KeepsButFails(NotingKeeper):
    """The version is safe, and then an error comes."""

    fails = 1

    def keep(
        self, files: Sequence[SettledFile], *, when: datetime
    ) -> list[KeptVersion | Unchanged]:
        outcomes = super().keep(files, when=when)
        self._fail()
        return outcomes

    def set_aside(
        self, file: SettledFile, reason: str, *, when: datetime
    ) -> SetAsideVersion | Unchanged:
        outcome = super().set_aside(file, reason, when=when)
        self._fail()
        return outcome

    def _fail(self) -> None:
        if self.fails:
            self.fails -= 1
            raise full_disk(Path("/vault"))


def test_a_save_that_was_kept_although_it_failed_is_told_as_kept_and_not_kept_twice(
    evening: Evening,
) -> None:
    evening.keeper = KeepsButFails()
    evening.begin()
    evening.save("evening.json", "{}")
    evening.run(10)
    assert evening.kinds() == [Ready, Trouble, Kept, Recovered]
    (kept,) = evening.of(Kept)
    assert isinstance(kept, Kept)
    assert (kept.number, kept.sha256) == (1, sha256(b"{}").hexdigest())
    assert len(evening.keeper.versions) == 1


def test_a_file_set_aside_although_it_failed_is_told_as_set_aside(evening: Evening) -> None:
    evening.keeper = KeepsButFails()
    evening.begin()
    evening.save("evening.json", "{")
    evening.run(20)
    assert evening.kinds() == [Ready, NotReadableYet, Trouble, SetAside, Recovered]
    assert len(evening.keeper.aside) == 1


def test_files_that_are_as_they_were_say_nothing_at_the_start(evening: Evening) -> None:
    show = evening.save("evening.json", "{}")
    evening.keeper.versions.append((show, b"{}"))
    evening.begin()
    evening.run(5)
    assert evening.kinds() == [Ready]


def test_a_broken_file_that_was_set_aside_before_is_an_alarm_at_the_start(
    evening: Evening,
) -> None:
    show = evening.save("evening.json", "{")
    evening.keeper.aside.append((show, b"{"))
    evening.clock.moment = evening.clock.moment.replace(year=2100)
    evening.begin()
    evening.run(0)
    assert evening.kinds() == [SetAside, Ready]
    (aside,), (ready,) = evening.of(SetAside), evening.of(Ready)
    assert isinstance(aside, SetAside) and not aside.whole_before
    assert isinstance(ready, Ready) and ready.not_whole == (show,)


def test_a_broken_save_of_a_file_that_is_kept_says_that_a_whole_one_stands(
    evening: Evening,
) -> None:
    evening.begin()
    for text in ("{}", "{"):
        evening.save("evening.json", text)
        evening.run(10)
    (aside,) = evening.of(SetAside)
    assert isinstance(aside, SetAside) and aside.whole_before


def test_broken_bytes_saved_again_are_not_set_aside_again(evening: Evening) -> None:
    evening.begin()
    for _ in range(2):
        evening.save("evening.json", "{")
        evening.run(10)
    assert len(evening.keeper.aside) == 1


def test_broken_bytes_that_come_back_are_as_loud_as_at_first(evening: Evening) -> None:
    evening.begin()
    for text in ("{", "{}", "{"):
        evening.save("evening.json", text)
        evening.run(10)
    assert evening.kinds()[-2:] == [NotReadableYet, SetAside]


def test_an_unproven_file_is_looked_into_early_and_made_to_rest_longer(evening: Evening) -> None:
    evening.begin()
    desk = evening.save("evening.desk", "1")
    evening.run(1.9)
    assert evening.kinds() == [Ready]
    evening.run(0.4)
    assert evening.keeper.versions == [(desk, b"1")]


def test_a_file_out_of_reach_for_a_while_is_not_forgotten(evening: Evening) -> None:
    evening.begin()
    show = evening.save("evening.json", "{}")
    evening.run(0.4)
    evening.out_of_reach.add(show)
    evening.run(20)
    assert evening.kinds() == [Ready]
    evening.out_of_reach.clear()
    evening.run(2)
    assert evening.kinds() == [Ready, Kept]


def test_a_new_file_that_is_out_of_reach_at_first_is_seen_before_long(evening: Evening) -> None:
    evening.begin()
    show = evening.save("evening.json", "{}")
    evening.out_of_reach.add(show)
    evening.run(20)
    evening.out_of_reach.clear()
    evening.run(4)
    assert evening.kinds() == [Ready, Kept]


def test_a_kept_file_out_of_reach_when_it_changes_is_looked_at_again(evening: Evening) -> None:
    evening.begin()
    show = evening.save("evening.json", "{}")
    evening.run(10)
    evening.out_of_reach.add(show)
    evening.save("evening.json", "[]")
    evening.run(5)
    evening.out_of_reach.clear()
    evening.run(3)
    assert evening.keeper.versions[-1] == (show, b"[]")


def test_a_file_out_of_reach_at_the_start_is_kept_as_soon_as_it_is_not(evening: Evening) -> None:
    show = evening.save("evening.json", "{}")
    evening.out_of_reach.add(show)
    evening.begin()
    evening.run(5)
    evening.out_of_reach.clear()
    evening.run(20)
    assert evening.keeper.versions == [(show, b"{}")]


def test_a_file_renamed_away_and_back_while_it_settles_is_kept(evening: Evening) -> None:
    evening.begin()
    show = evening.save("evening.json", "{}")
    evening.run(0.4)
    show.rename(evening.folder / ".away")
    evening.run(3)
    (evening.folder / ".away").rename(show)
    evening.run(6)
    assert evening.keeper.versions == [(show, b"{}")]


class Desk:
    """`Saving` by itself, with a reader that the test decides about."""

    def __init__(self, folder: Path) -> None:
        self.show = folder / "evening.json"
        self.clock = FakeClock()
        self.identities: dict[Path, FileIdentity] = {}
        self.settling = Settling(self.identities.get, lambda path: False, lambda path: "proving")
        self.keeper = NotingKeeper()
        self.errors: list[Exception] = []
        self.saving = Saving(self.keeper, self.settling, KnownKinds(), self.clock, read=self.read)

    def read(self, path: Path) -> SettledFile:
        if self.errors:
            raise self.errors.pop(0)
        return read_settled(path)

    def save(self, text: str) -> Settled:
        self.show.write_text(text)
        identity = read_settled(self.show).identity
        self.identities[self.show] = identity
        self.settling.touched(self.show, self.clock.monotonic(), closed=False)
        return Settled(self.show, identity, 1.0)

    def deal_with(self, settled: Settled) -> list[WatchEvent]:
        return list(self.saving.deal_with([settled]))


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(tmp_path)


def test_a_file_that_changes_while_it_is_read_is_waited_for(desk: Desk) -> None:
    """A file that grows while it is read is read anew."""
    settled = desk.save("{}")
    desk.errors = [StillChangingError(desk.show)]
    assert desk.deal_with(settled) == []
    assert desk.settling.next_wake() == desk.clock.monotonic() + 1.0


def test_a_file_that_changed_since_it_settled_is_waited_for(desk: Desk) -> None:
    settled = desk.save("{}")
    desk.save('{"newer": true}')
    assert desk.deal_with(settled) == []
    assert desk.keeper.versions == []
    assert desk.show in desk.settling.waiting()


@pytest.mark.parametrize("error", [full_disk(Path("/stick")), OSError(5, "I/O"), MemoryError()])
def test_whatever_fails_in_reading_is_tried_again(desk: Desk, error: Exception) -> None:
    settled = desk.save("{}")
    desk.errors = [error]
    (trouble,) = desk.deal_with(settled)
    assert isinstance(trouble, Trouble)
    assert list(desk.saving.failing()) == [desk.show]
    assert [type(event) for event in desk.deal_with(settled)] == [Kept, Recovered]


def test_a_file_that_went_since_it_settled_is_looked_for_once_more(desk: Desk) -> None:
    settled = desk.save("{}")
    del desk.identities[desk.show]
    desk.show.unlink()
    assert desk.deal_with(settled) == []
    assert desk.settling.waiting() == {}
    assert desk.settling.next_wake() is not None


def test_a_glimpse_that_fails_is_no_trouble_yet(desk: Desk) -> None:
    desk.save("{}")
    desk.errors = [StillChangingError(desk.show)]
    assert list(desk.saving.deal_with([Glimpse(desk.show)])) == []
    assert [type(event) for event in desk.saving.deal_with([Glimpse(desk.show)])] == [Kept]


def test_a_file_too_big_to_read_is_said_so_once(desk: Desk) -> None:
    """A sparse file of a terabyte."""
    settled = desk.save("{}")
    desk.errors = [FileTooBigError(desk.show, 10**12, 4 * 1024**3)]
    (skipped,) = desk.deal_with(settled)
    assert isinstance(skipped, Skipped)
    assert skipped.hint is not None
    assert desk.settling.waiting() == {}


def test_setting_aside_that_fails_is_tried_again(desk: Desk) -> None:
    settled = Settled(desk.show, desk.save("{").identity, 60.0)
    desk.keeper.refusals = [full_disk(desk.show)]
    assert [type(event) for event in desk.deal_with(settled)] == [Trouble]
    assert [type(event) for event in desk.deal_with(settled)] == [SetAside, Recovered]


def test_a_message_about_several_files_is_said_once(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    settled = []
    for name in ("a.json", "b.json"):
        desk.show = tmp_path / name
        settled.append(desk.save("{}"))
    desk.keeper.refusals = [full_disk(tmp_path)]
    (trouble,) = desk.saving.deal_with(settled)
    assert isinstance(trouble, Trouble)
    assert {path.name for path in trouble.paths} == {"a.json", "b.json"}


def test_many_large_files_are_not_read_into_memory_together(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    settled = []
    for number in range(5):
        desk.show = tmp_path / f"v{number}.json"
        one = desk.save("{}")
        large = one.identity._replace(size=rules.AT_ONCE // 2)
        settled.append(Settled(desk.show, large, 60.0))
    batches = [len(batch) for batch in desk.saving._batches(settled)]
    assert batches == [2, 2, 1]


def test_kinds_are_learned_by_suffix_and_never_too_many() -> None:
    kinds = KnownKinds()
    kinds.learn(Path("/shows/a.DESK"), "unproven")
    assert kinds.kind_of(Path("/elsewhere/b.desk")) == "unproven"
    for number in range(1000):
        kinds.learn(Path(f"/shows/a.{number}"), "unproven")
    assert kinds.kind_of(Path("/shows/b.999")) == "proving"
    kinds.learn(Path("/shows/a.desk"), "proving")
    assert kinds.kind_of(Path("/shows/b.desk")) == "proving"
