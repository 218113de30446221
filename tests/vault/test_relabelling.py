"""Labels are found again when the ref that names them is damaged or gone."""

from pathlib import Path

import pytest

from showvault.vault.labelling import remove_label, set_label
from showvault.vault.store import LABELS
from showvault.vault.versions import list_versions
from tests.vault.builders import keep, make_vault, opened

BACK = "the labels were brought back: what named them was damaged"


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


def test_labels_without_a_journal_are_found_all_the_same(folder: Path) -> None:
    (folder / "journal").unlink()
    (folder / "history.git" / LABELS).write_bytes(b"")
    with opened(folder) as vault:
        assert BACK in [repair.sentence for repair in vault.repairs]
        assert list_versions(vault.store)[0].labels == ("at once", "opening")


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


def test_a_vault_without_labels_has_none_to_look_for(tmp_path: Path) -> None:
    folder = make_vault(tmp_path / "vault")
    with opened(folder) as vault:
        keep(vault, {"show/1.json": b"1"})
    with opened(folder) as vault:
        assert vault.repairs == ()
