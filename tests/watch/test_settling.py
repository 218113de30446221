"""Times are those of the settle rule in `showvault.watch.settling`; common practice, measured by
this project on 120 slow writers, no outside source."""

from pathlib import Path

import pytest

from showvault.files.reading import FileIdentity
from showvault.watch import settling as rules
from showvault.watch.settling import Glimpse, Kind, Restless, Settled, Settling

SHOW = Path("/shows/evening.json")
DESK = Path("/shows/evening.desk")


class Files:
    """Files whose identities the test sets."""

    def __init__(self) -> None:
        self.identities: dict[Path, FileIdentity] = {}
        self.open: set[Path] = set()
        self.kinds: dict[Path, Kind] = {}
        self.count = 0

    def write(self, path: Path) -> FileIdentity:
        self.count += 1
        self.identities[path] = FileIdentity(1, 2, self.count, self.count, self.count)
        return self.identities[path]

    def settling(self) -> Settling:
        return Settling(
            self.identities.get,
            self.open.__contains__,
            lambda path: self.kinds.get(path, "proving"),
        )


@pytest.fixture
def files() -> Files:
    return Files()


def settled_paths(settling: Settling, now: float) -> list[Path]:
    return [one.path for one in settling.tick(now) if isinstance(one, Settled)]


def moment_of_rest(settling: Settling, path: Path, until: float = 100.0) -> float:
    now = 0.0
    while now < until:
        if path in settled_paths(settling, now):
            return now
        now = round(now + 0.1, 1)
    raise AssertionError(f"{path} never came to rest")


def test_a_file_in_a_proving_format_rests_after_a_second(files: Files) -> None:
    settling = files.settling()
    files.write(SHOW)
    settling.touched(SHOW, 0.0, closed=False)
    assert moment_of_rest(settling, SHOW) == 1.0


def test_a_close_shortens_the_wait_to_half_a_second(files: Files) -> None:
    settling = files.settling()
    files.write(SHOW)
    settling.touched(SHOW, 0.0, closed=False)
    settling.touched(SHOW, 0.0, closed=True)
    assert moment_of_rest(settling, SHOW) == 0.5


def test_a_close_alone_decides_nothing_while_the_file_goes_on_changing(files: Files) -> None:
    settling = files.settling()
    for tenth in range(30):
        files.write(SHOW)
        settling.touched(SHOW, tenth / 10, closed=True)
        assert settled_paths(settling, tenth / 10 + 0.05) == []
    assert settled_paths(settling, 3.5) == [SHOW]


def test_a_change_that_nothing_told_of_is_found_before_the_file_is_handed_over(
    files: Files,
) -> None:
    settling = files.settling()
    files.write(SHOW)
    settling.touched(SHOW, 0.0, closed=False)
    files.write(SHOW)
    assert settled_paths(settling, 1.0) == []
    assert settled_paths(settling, 1.9) == []
    assert settled_paths(settling, 2.0) == [SHOW]


def test_an_unproven_format_rests_longer(files: Files) -> None:
    files.kinds[DESK] = "unproven"
    settling = files.settling()
    files.write(DESK)
    settling.touched(DESK, 0.0, closed=True)
    assert moment_of_rest(settling, DESK) == rules.REST_UNPROVEN


def test_an_unproven_file_that_is_open_for_writing_is_waited_for(files: Files) -> None:
    files.kinds[DESK] = "unproven"
    files.open.add(DESK)
    settling = files.settling()
    files.write(DESK)
    settling.touched(DESK, 0.0, closed=False)
    assert settled_paths(settling, 5.0) == []
    files.open.clear()
    assert settled_paths(settling, 6.0) == [DESK]


def test_a_desk_that_never_closes_its_file_does_not_keep_it_from_being_kept(files: Files) -> None:
    files.kinds[DESK] = "unproven"
    files.open.add(DESK)
    settling = files.settling()
    files.write(DESK)
    settling.touched(DESK, 0.0, closed=False)
    assert 30.0 <= moment_of_rest(settling, DESK) <= 31.0


def test_polling_makes_every_wait_four_seconds(files: Files) -> None:
    settling = files.settling()
    settling.poll_from_now_on()
    files.write(SHOW)
    settling.touched(SHOW, 0.0, closed=True)
    assert moment_of_rest(settling, SHOW) == 4.0


def test_a_file_that_never_rests_is_told_once_and_glimpsed_at_once_a_minute(files: Files) -> None:
    settling = files.settling()
    told = []
    for tenth in range(2000):
        files.write(SHOW)
        settling.touched(SHOW, tenth / 10, closed=True)
        told += settling.tick(tenth / 10)
    assert told == [Restless(SHOW, 60.0), *[Glimpse(SHOW)] * 3]
    assert moment_of_rest(settling, SHOW, until=300.0) <= 200.5


def test_a_rest_ends_the_count_of_a_restless_file(files: Files) -> None:
    settling = files.settling()
    identity = files.write(SHOW)
    settling.touched(SHOW, 0.0, closed=True)
    settling.done(SHOW, identity, 50.0)
    files.write(SHOW)
    settling.touched(SHOW, 59.0, closed=True)
    assert [one for one in settling.tick(61.0) if isinstance(one, Restless)] == []


def test_a_file_is_looked_at_once_more_five_seconds_after_it_was_dealt_with(files: Files) -> None:
    settling = files.settling()
    identity = files.write(SHOW)
    settling.done(SHOW, identity, 10.0)
    files.write(SHOW)
    assert settling.next_wake() == 15.0
    settling.tick(15.0)
    assert settled_paths(settling, 16.0) == [SHOW]


def test_a_file_that_was_dealt_with_is_not_handed_over_again_without_a_change(
    files: Files,
) -> None:
    settling = files.settling()
    identity = files.write(SHOW)
    settling.done(SHOW, identity, 0.0)
    settling.touched(SHOW, 1.0, closed=True)
    assert settled_paths(settling, 100.0) == []
    assert settling.next_wake() is None


def test_files_that_change_together_are_handed_over_together(files: Files) -> None:
    files.kinds[DESK] = "unproven"
    settling = files.settling()
    files.write(SHOW)
    files.write(DESK)
    settling.touched(SHOW, 0.0, closed=True)
    settling.touched(DESK, 0.0, closed=True)
    assert settled_paths(settling, 1.0) == []
    assert settled_paths(settling, 2.0) == [SHOW, DESK]


def test_a_file_waits_only_briefly_for_another_that_goes_on_changing(files: Files) -> None:
    settling = files.settling()
    files.write(SHOW)
    settling.touched(SHOW, 0.0, closed=True)
    now = 0.0
    while SHOW not in settled_paths(settling, now):
        files.write(DESK)
        settling.touched(DESK, now, closed=False)
        now += 0.1
        assert now < 10
    assert now == pytest.approx(0.5 + rules.TOGETHER, abs=0.11)


def test_a_held_file_comes_again_when_it_has_rested_for_so_long(files: Files) -> None:
    settling = files.settling()
    files.write(SHOW)
    settling.touched(SHOW, 0.0, closed=False)
    assert settled_paths(settling, 1.0) == [SHOW]
    settling.hold(SHOW, 6.0)
    assert settled_paths(settling, 5.9) == []
    (again,) = settling.tick(6.0)
    assert again == Settled(SHOW, files.identities[SHOW], 6.0)


def test_a_held_file_that_changes_is_waited_for_anew(files: Files) -> None:
    settling = files.settling()
    files.write(SHOW)
    settling.touched(SHOW, 0.0, closed=False)
    settling.tick(1.0)
    settling.hold(SHOW, 60.0)
    files.write(SHOW)
    settling.touched(SHOW, 3.0, closed=True)
    assert settled_paths(settling, 3.5) == [SHOW]


def test_a_settled_file_that_nobody_answers_for_is_handed_over_again(files: Files) -> None:
    settling = files.settling()
    files.write(SHOW)
    settling.touched(SHOW, 0.0, closed=False)
    assert settled_paths(settling, 1.0) == [SHOW]
    assert settled_paths(settling, 2.0) == []
    assert settled_paths(settling, 6.0) == [SHOW]


def test_a_file_that_goes_away_while_it_settles_is_not_handed_over(files: Files) -> None:
    settling = files.settling()
    files.write(SHOW)
    settling.touched(SHOW, 0.0, closed=False)
    del files.identities[SHOW]
    assert settled_paths(settling, 10.0) == []
    assert settling.waiting() == {}


def test_a_file_known_to_have_rested_is_ready_at_once(files: Files) -> None:
    settling = files.settling()
    files.write(SHOW)
    settling.touched(SHOW, 100.0, closed=False, rested=10.0)
    (settled,) = settling.tick(100.0)
    assert settled == Settled(SHOW, files.identities[SHOW], 10.0)


def test_nothing_grows_with_the_number_of_saves(files: Files) -> None:
    """A save every 100 ms for an hour is 36,000 of them."""
    settling = files.settling()
    for tenth in range(36_000):
        files.write(SHOW)
        settling.touched(SHOW, tenth / 10, closed=True)
        settling.tick(tenth / 10)
    assert len(settling.waiting()) == 1
    assert moment_of_rest(settling, SHOW, until=4000.0) <= 3600.5
