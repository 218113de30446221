from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvault.vault.housekeeping import fold_packs, housekeep, turn_ring
from showvault.vault.opening import Vault
from showvault.vault.ring import (
    HOURS,
    Dated,
    choose_copies,
    free_name,
    hash_copy,
    read_ring_name,
    ring_name,
)
from showvault.vault.versions import list_versions
from tests.vault.builders import START, keep, make_vault, opened, parts_of

moments = st.datetimes(datetime(1990, 1, 1), datetime(2060, 1, 1), timezones=st.just(UTC))
lines = st.lists(moments, min_size=1, max_size=60).map(
    lambda times: [Dated(number + 1, moment) for number, moment in enumerate(times)]
)
keeps = st.integers(-1, 20)


@given(lines, keeps)
def test_the_newest_version_always_stays(versions: list[Dated], count: int) -> None:
    assert versions[-1].number in choose_copies(versions, count)


@given(lines, keeps)
def test_the_newest_by_number_stay_whatever_the_clock_says(
    versions: list[Dated], count: int
) -> None:
    newest = {version.number for version in versions[-max(1, count) :]}
    assert newest <= choose_copies(versions, count)


@given(lines, keeps)
def test_no_more_stay_than_the_newest_and_one_for_each_hour(
    versions: list[Dated], count: int
) -> None:
    assert len(choose_copies(versions, count)) <= max(1, count) + HOURS


@given(lines, keeps, st.randoms())
def test_the_order_of_the_question_does_not_matter(versions, count, chance) -> None:
    shuffled = list(versions)
    chance.shuffle(shuffled)
    assert choose_copies(shuffled, count) == choose_copies(versions, count)


@given(st.lists(st.integers(0, 5000), min_size=1, max_size=80), st.integers(1, 5))
def test_the_last_save_of_each_of_the_last_hours_survives_turn_by_turn(
    seconds: list[int], count: int
) -> None:
    """Turning after every save leaves what turning once at the end leaves, if no clock jumps."""
    moment = START
    lying: list[Dated] = []
    every: list[Dated] = []
    for number, pause in enumerate(seconds):
        moment += timedelta(seconds=pause)
        for line in (lying, every):
            line.append(Dated(number + 1, moment))
        stay = choose_copies(lying, count)
        lying = [version for version in lying if version.number in stay]
    assert {v.number for v in lying} == choose_copies(every, count)


def test_a_burst_of_saves_does_not_flush_the_evening_out() -> None:
    evening = [Dated(n + 1, START + timedelta(hours=n)) for n in range(10)]
    burst = [Dated(n, START + timedelta(hours=10, seconds=n)) for n in range(11, 111)]
    stay = choose_copies([*evening, *burst], 8)
    assert stay == {*range(1, 11), *range(103, 111)}


def test_a_clock_that_jumps_back_seven_years_drops_no_new_save() -> None:
    """By name or time of file, saves after the jump were deleted at once (durability, 0.6)."""
    before = [Dated(n, START) for n in range(1, 6)]
    after = [Dated(n, START.replace(year=2019)) for n in range(6, 9)]
    assert {6, 7, 8} <= choose_copies([*before, *after], 3)


def test_nothing_chosen_of_nothing() -> None:
    assert choose_copies([], 8) == frozenset()


def test_a_name_is_in_the_local_time_of_the_save() -> None:
    moment = datetime(2026, 11, 24, 23, 15, tzinfo=UTC).astimezone(timezone(timedelta(hours=1)))
    name = ring_name(42, moment, "evening v12.json")
    assert name == "000042_2026-11-25_00-15-00_evening v12.json"
    copy = read_ring_name(name)
    assert copy is not None
    assert copy.number == 42


@given(st.text(), st.integers(1, 10**9))
def test_any_original_name_makes_a_name_of_ours(original: str, number: int) -> None:
    name = ring_name(number, START, original)
    copy = read_ring_name(name)
    assert copy is not None
    assert copy.number == number
    assert len(name.encode()) < 200
    assert not set(name) & set('/\\:*?"<>|\0\n\x1b')
    assert name[-1] not in " ."


@pytest.mark.parametrize(
    ("original", "plain"),
    [
        ("CON.json", "_CON.json"),
        ("a/b\\c.json", "a_b_c.json"),
        (".", "show"),
        ("x" * 300 + ".json", "x" * 115 + ".json"),
        ("ende.", "ende"),
        ("\u202egpj.json", "_gpj.json"),
    ],
)
def test_the_ending_stays_and_the_rest_is_made_safe(original: str, plain: str) -> None:
    """Reserved names: Microsoft, Naming Files, Paths, and Namespaces."""
    assert ring_name(1, START, original).split("_", 3)[3] == plain


@pytest.mark.parametrize(
    "name",
    [
        "show.json",
        "1_2026-11-24_22-00-00_a",
        "000001_2026-11-24_a",
        ".000001_2026-11-24_22-00-00_a",
    ],
)
def test_other_names_are_not_ours(name: str) -> None:
    assert read_ring_name(name) is None


def test_a_taken_name_gets_a_number_before_its_ending() -> None:
    assert free_name("a.json", []) == "a.json"
    assert free_name("a.json", ["A.JSON", "a~2.json"]) == "a~3.json"
    assert free_name("a", ["a"]) == "a~2"


@pytest.fixture
def vault(tmp_path: Path):
    with opened(make_vault(tmp_path / "vault")) as vault:
        yield vault


def numbers(vault: Vault) -> list[int]:
    return sorted(int(path.name[:6]) for path in vault.paths.ring.iterdir())


def test_turning_leaves_the_newest_eight(vault: Vault) -> None:
    for number in range(12):
        keep(vault, {"show/n": b"%d" % number})
    assert turn_ring(vault) == []
    assert numbers(vault) == [5, 6, 7, 8, 9, 10, 11, 12]
    assert housekeep(vault) == []


def test_a_strangers_file_with_a_name_like_ours_is_neither_counted_nor_touched(
    vault: Vault,
) -> None:
    strange = vault.paths.ring / "000900_2039-01-01_00-00-00_strange.json"
    strange.write_bytes(b"strange")
    for number in range(12):
        keep(vault, {"show/n": b"%d" % number})
    turn_ring(vault)
    assert strange.read_bytes() == b"strange"
    assert numbers(vault) == [5, 6, 7, 8, 9, 10, 11, 12, 900]


def test_a_planted_file_under_the_next_name_is_not_covered(vault: Vault) -> None:
    planted = vault.paths.ring / ring_name(1, START + timedelta(minutes=1), "evening.json")
    planted.write_bytes(b"planted")
    keep(vault, {"show/n": b"mine"})
    assert planted.read_bytes() == b"planted"
    assert sorted(path.read_bytes() for path in vault.paths.ring.iterdir()) == [b"mine", b"planted"]


def test_a_copy_that_the_newest_version_still_stands_on_is_never_dropped(vault: Vault) -> None:
    """The desk's own file did not change for twelve saves; its only plain copy is old."""
    from dataclasses import replace

    from showvault.vault.publishing import publish_version
    from tests.vault.builders import pending

    desk = keep(vault, {}, data=b"desk", role="opaque", path="/shows/evening.desk")
    for number in range(12):
        vault.clock.now += timedelta(hours=2)  # type: ignore[attr-defined]
        save = pending(vault, {"show/n": b"%d" % number})
        publish_version(vault, replace(save, files=(*save.files, *desk.files)))
    turn_ring(vault)
    assert 1 in numbers(vault)


def test_folding_leaves_one_pack_and_every_version(vault: Vault) -> None:
    kept = {}
    for number in range(70):
        version = keep(vault, {f"show/{number}": b"%d" % number, "show/same": b"x" * 1000})
        kept[version.number] = parts_of(vault, version)
    housekeep(vault)
    assert len(vault.store.pack_names()) == 1
    assert {v.number: parts_of(vault, v) for v in list_versions(vault.store)} == kept
    keep(vault, {"show/after": b"a"})
    fold_packs(vault)
    with opened(vault.folder) as again:
        assert again.repairs == ()
        assert len(list_versions(again.store)) == 71


@pytest.mark.parametrize("other", ["ABEND.json", "Äbend.json".lower(), "A\u0308bend.json"])
def test_names_that_a_file_system_takes_for_one_get_a_number(other: str) -> None:
    """Case, and composed or decomposed letters (Unicode Standard Annex 15)."""
    name = "abend.json" if other.isascii() else "\u00c4bend.json"
    assert free_name(name, [other]) == name.replace(".json", "~2.json")


def test_what_cannot_be_read_is_no_copy_of_anything(tmp_path: Path) -> None:
    """A folder under a copy's name: it must match no version's SHA-256."""
    assert hash_copy(tmp_path) == ""
    assert hash_copy(tmp_path / "not there") == ""
