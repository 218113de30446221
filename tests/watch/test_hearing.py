from pathlib import Path

from showvault.watch.hearing import AT_MOST, GRACE, Hearing

SHOW = Path("/shows/act1/evening.json")


def test_a_change_that_was_told_is_no_doubt() -> None:
    hearing = Hearing()
    hearing.told([SHOW], 1.0)
    hearing.found([SHOW], 14.0)
    assert hearing.next_doubt() is None


def test_a_change_that_was_not_told_in_time_is_named() -> None:
    hearing = Hearing()
    hearing.found([SHOW], 10.0)
    assert hearing.next_doubt() == 10.0
    assert hearing.untold(10.0 + GRACE - 0.1) is None
    assert hearing.untold(10.0 + GRACE) == SHOW


def test_a_change_that_is_told_late_is_no_doubt_any_more() -> None:
    hearing = Hearing()
    hearing.found([SHOW], 10.0)
    hearing.told([SHOW], 11.0)
    assert hearing.untold(100.0) is None


def test_a_folder_that_is_told_late_speaks_for_what_is_in_it() -> None:
    hearing = Hearing()
    hearing.found([SHOW], 10.0)
    hearing.told([SHOW.parent], 11.0)
    assert hearing.untold(100.0) is None


def test_an_old_notice_does_not_speak_for_a_later_change() -> None:
    hearing = Hearing()
    hearing.told([SHOW], 1.0)
    hearing.found([SHOW], 15.0)
    hearing.found([SHOW], 30.0)
    assert hearing.untold(33.0) == SHOW


def test_starting_anew_forgets_every_doubt() -> None:
    hearing = Hearing()
    hearing.found([SHOW], 10.0)
    hearing.start_anew()
    assert hearing.untold(100.0) is None


def test_it_says_when_a_look_is_due_because_much_was_told() -> None:
    hearing = Hearing()
    hearing.told([Path(f"/shows/{number}") for number in range(AT_MOST)], 1.0)
    assert hearing.is_full()
