"""The record of what was reported: read as far as it is whole."""

import zlib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvault.files.disk import DiskError
from showvault.vault.journal import (
    Entry,
    append_entry,
    known_packs,
    last_version,
    read_journal,
    read_journal_end,
)

HASH, COMMIT = "a" * 64, "b" * 40
PACKS = tuple(f"pack-{digit * 40}.pack" for digit in "cd")
ENTRY = Entry(7, HASH, COMMIT, PACKS, False)


@pytest.mark.parametrize(
    "entry",
    [
        ENTRY,
        Entry(1, "", COMMIT, (), False),
        Entry(0, "", "", PACKS, True),
        Entry(0, "", COMMIT, (), False),
        Entry(999_999_999_999, HASH, COMMIT, PACKS[:1], False),
    ],
)
def test_what_was_written_is_read(tmp_path: Path, entry: Entry) -> None:
    append_entry(tmp_path / "journal", entry)
    assert read_journal(tmp_path / "journal") == [entry]


def test_a_journal_that_is_not_there_is_empty(tmp_path: Path) -> None:
    assert read_journal(tmp_path / "journal") == []
    assert last_version([]) is None


def test_a_journal_that_cannot_be_read_is_told_and_not_taken_for_an_empty_one(
    tmp_path: Path,
) -> None:
    (tmp_path / "journal").mkdir()
    with pytest.raises(DiskError):
        read_journal(tmp_path / "journal")


@given(bit=st.integers(0, 8 * 200))
def test_one_changed_bit_makes_no_other_line_of_it(
    tmp_path_factory: pytest.TempPathFactory, bit: int
) -> None:
    path = tmp_path_factory.mktemp("j") / "journal"
    append_entry(path, ENTRY)
    data = bytearray(path.read_bytes())
    data[bit // 8 % (len(data) - 1)] ^= 1 << bit % 8
    path.write_bytes(data)
    assert read_journal(path) == []


@given(data=st.binary(max_size=60), at=st.integers(0, 400))
def test_a_damaged_line_hides_no_other(
    tmp_path_factory: pytest.TempPathFactory, data: bytes, at: int
) -> None:
    path = tmp_path_factory.mktemp("j") / "journal"
    for number in (1, 2, 3):
        append_entry(path, ENTRY._replace(number=number))
    lines = path.read_bytes().splitlines(keepends=True)
    middle = lines[1][: at % len(lines[1])] + data.replace(b"\n", b"") + b"\n"
    path.write_bytes(lines[0] + middle + lines[2])
    numbers = [entry.number for entry in read_journal(path)]
    assert numbers[0] == 1
    assert numbers[-1] == 3


def test_the_end_of_a_long_journal_is_enough_for_every_day(tmp_path: Path) -> None:
    path = tmp_path / "journal"
    with path.open("wb") as file:
        for number in range(1, 2000):
            line = b"%d %s %s -" % (number, HASH.encode(), COMMIT.encode())
            file.write(b"%s %08x\n" % (line, zlib.crc32(line)))
    end = read_journal_end(path)
    assert 100 < len(end) < 2000
    assert last_version(end) == last_version(read_journal(path))


def test_packs_that_replace_all_earlier_ones_are_the_only_known_ones() -> None:
    one, other = ((pack,) for pack in PACKS)
    first = ENTRY._replace(packs=one)
    assert known_packs([first, ENTRY._replace(packs=other)]) == set(PACKS)
    assert known_packs([first, ENTRY._replace(packs=other, replaces=True)]) == set(other)
