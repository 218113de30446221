"""Labels are found again when the ref that names them is damaged or gone."""

from collections.abc import Callable
from pathlib import Path

import pytest

from showvault.files.disk import RealFileSystem
from showvault.vault.checking import check_vault
from showvault.vault.housekeeping import housekeep
from showvault.vault.journal import TAIL_BYTES, Entry, append_entry, read_journal_end
from showvault.vault.labelling import remove_label, set_label
from showvault.vault.labels import RECORD
from showvault.vault.store import LABELS
from showvault.vault.storing import NewCommit
from showvault.vault.versions import list_versions
from tests.vault.builders import keep, make_vault, opened

LOST = "the labels are lost: nothing in the history holds them any more"
BACK = "the labels were brought back: what named them was damaged"


class Unsynced(RealFileSystem):
    """Quick, for what no power cut is tried on."""

    def sync(self, descriptor: int) -> None:
        pass


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A vault whose newest record of labels is not the first."""
    folder = make_vault(tmp_path / "vault")
    with opened(folder) as vault:
        first = keep(vault, {"show/1.json": b"1"}, label="at once")
        set_label(vault, first.commit, "preview", who="Ada")
        set_label(vault, first.commit, "opening", who="Ada")
        remove_label(vault, "preview", who="Ada")
    return folder


@pytest.mark.parametrize("damage", [b"", b"\0" * 41, b"0" * 40 + b"\n", b"f" * 40 + b"\n"])
def test_a_damaged_ref_leads_to_the_newest_labels_again(folder: Path, damage: bytes) -> None:
    (folder / "history.git" / LABELS).write_bytes(damage)
    with opened(folder) as vault:
        assert [repair.sentence for repair in vault.repairs] == [BACK]
        assert list_versions(vault.store)[0].labels == ("at once", "opening")
    assert [path.read_bytes() for path in (folder / "quarantine").iterdir()] == [damage]


def test_a_ref_that_is_gone_is_made_again(folder: Path) -> None:
    (folder / "history.git" / LABELS).unlink()
    with opened(folder) as vault:
        assert [repair.sentence for repair in vault.repairs] == [BACK]
        assert list_versions(vault.store)[0].labels == ("at once", "opening")


def test_labels_given_many_versions_ago_are_looked_for_too(folder: Path) -> None:
    """Only the end of the journal is read every day; theirs is not in it any more."""
    with opened(folder) as vault:
        for number in range(2, TAIL_BYTES // 150):
            entry = Entry(number, "0" * 64, "1" * 40, (f"pack-{'2' * 40}.pack",), False)
            journal = folder / "other journal"
            append_entry(journal, entry, disk=Unsynced())
        head = vault.store.head()
    whole = (folder / "journal").read_bytes()
    lines = whole.splitlines(keepends=True)
    (folder / "journal").write_bytes(b"".join([*lines[1:], journal.read_bytes(), lines[0]]))
    assert not any(one.commit and not one.number for one in read_journal_end(folder / "journal"))
    (folder / "history.git" / LABELS).unlink()
    with opened(folder) as vault:
        assert vault.store.head() == head
        assert BACK in [repair.sentence for repair in vault.repairs]
        assert list_versions(vault.store)[0].labels == ("at once", "opening")


def test_labels_without_a_journal_are_found_all_the_same(folder: Path) -> None:
    (folder / "journal").unlink()
    (folder / "history.git" / LABELS).write_bytes(b"")
    with opened(folder) as vault:
        assert BACK in [repair.sentence for repair in vault.repairs]
        assert list_versions(vault.store)[0].labels == ("at once", "opening")


@pytest.mark.parametrize("text", [b"{", b"[1]", b"\xff", b"[" * 5000])
def test_a_record_of_labels_that_nobody_can_read_gives_way_to_the_one_before(
    folder: Path, text: bytes
) -> None:
    """Whole for git, and no labels: no label could be given any more."""
    with opened(folder) as vault:
        before = vault.store.ref(LABELS)
        commit = NewCommit(before, (), "a stranger's", "", "", 0, 0)
        stored = vault.store.write_commit({RECORD: text}, (), commit)
        vault.store.move(LABELS, stored.commit, before)
        vault.store.let_go(stored.pack)
    with opened(folder) as vault:
        assert BACK in [repair.sentence for repair in vault.repairs]
        (version,) = list_versions(vault.store)
        assert version.labels == ("at once", "opening")
        set_label(vault, version.commit, "again", who="Ada")
    with opened(folder) as vault:
        assert vault.repairs == ()
        assert list_versions(vault.store)[0].labels == ("at once", "opening", "again")
    asides = [path.read_bytes() for path in (folder / "quarantine").iterdir()]
    assert f"{stored.commit}\n".encode() in asides


def test_labels_of_which_nothing_is_left_are_told_to_be_lost(tmp_path: Path) -> None:
    folder = make_vault(tmp_path / "vault")
    with opened(folder) as vault:
        keep(vault, {"show/1.json": b"1"})
    (folder / "history.git" / LABELS).parent.mkdir(exist_ok=True)
    (folder / "history.git" / LABELS).write_bytes(b"f" * 40 + b"\n")
    with opened(folder) as vault:
        (repair,) = vault.repairs
        assert repair.sentence.startswith("the labels are lost")
    with opened(folder) as vault:
        assert vault.repairs == ()


def test_labels_that_were_lost_are_told_once_and_can_be_given_again(tmp_path: Path) -> None:
    """The ref and every pack went, but not the journal, which says that there were labels."""
    folder = make_vault(tmp_path / "vault")
    with opened(folder) as vault:
        keep(vault, {"show/1.json": b"1"}, label="opening")
        set_label(vault, list_versions(vault.store)[0].commit, "preview", who="Ada")
    (folder / "history.git" / LABELS).unlink()
    for path in (folder / "history.git/objects/pack").iterdir():
        path.unlink()
    told = []
    for _ in range(2):
        with opened(folder) as vault:
            told.append([repair.sentence for repair in vault.repairs].count(LOST))
    assert told == [1, 0]
    with opened(folder) as vault:
        keep(vault, {"show/1.json": b"2"}, label="opening")
        assert list_versions(vault.store)[0].labels == ("opening",)
        assert [str(damage) for damage in check_vault(vault) if damage.where == "history"] == []


def test_labels_that_are_lost_for_good_are_not_told_to_be_back(folder: Path) -> None:
    for path in (folder / "history.git/objects/pack").iterdir():
        path.unlink()
    with opened(folder) as vault:
        assert LOST in [repair.sentence for repair in vault.repairs]
        with vault.writing("a close look") as lock:
            vault.mend_thoroughly(lock)
        assert BACK not in [repair.sentence for repair in vault.repairs]


def test_a_ref_that_is_damaged_while_the_vault_is_mended_is_mended_too(folder: Path) -> None:
    with opened(folder) as vault, vault.writing("a close look") as lock:
        (folder / "history.git" / LABELS).write_bytes(b"nothing\n")
        vault.mend_thoroughly(lock)
        assert [repair.sentence for repair in vault.repairs] == [BACK]
        assert list_versions(vault.store)[0].labels == ("at once", "opening")


def newest_labels_pack(folder: Path) -> Path:
    """The pack of the last label that was given or taken."""
    name = (folder / "journal").read_text().splitlines()[-1].split(" ")[3]
    return folder / f"history.git/objects/pack/pack-{name}.pack"


def damage_the_pack(pack: Path) -> None:
    data = bytearray(pack.read_bytes())
    data[20] ^= 0xFF
    pack.chmod(0o600)
    pack.write_bytes(data)


def damage_the_index(pack: Path) -> None:
    """So that git finds no object any more: "offset beyond end of packfile"."""
    index = pack.with_suffix(".idx")
    data = bytearray(index.read_bytes())
    count = int.from_bytes(data[1028:1032], "big")
    at = 1032 + count * 24  # behind the names and checksums (git, gitformat-pack)
    data[at : at + 4] = b"\x7f\xff\xff\xff"
    index.chmod(0o600)
    index.write_bytes(data)


@pytest.mark.parametrize("damage", [damage_the_pack, damage_the_index])
def test_where_the_newest_labels_are_damaged_too_they_are_mended_before_older_ones_take_their_place(
    folder: Path, damage: Callable[[Path], None]
) -> None:
    with opened(folder) as vault:
        housekeep(vault)  # makes the second copies
    damage(newest_labels_pack(folder))
    (folder / "history.git" / LABELS).write_bytes(b"")
    with opened(folder) as vault:
        assert [repair.sentence for repair in vault.repairs][-1] == BACK
        assert list_versions(vault.store)[0].labels == ("at once", "opening")
        assert check_vault(vault) == []


def test_a_folder_where_the_labels_are_named_is_moved_out_of_the_way(folder: Path) -> None:
    (folder / "history.git" / LABELS).unlink()
    (folder / "history.git" / LABELS).mkdir()
    with opened(folder) as vault:
        assert [repair.sentence for repair in vault.repairs][1:] == [BACK]
        assert list_versions(vault.store)[0].labels == ("at once", "opening")


def test_a_vault_without_labels_has_none_to_look_for(tmp_path: Path) -> None:
    folder = make_vault(tmp_path / "vault")
    with opened(folder) as vault:
        keep(vault, {"show/1.json": b"1"})
    with opened(folder) as vault:
        assert vault.repairs == ()
