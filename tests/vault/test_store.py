"""What the history holds and how its refs move: never over somebody else's step."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from showvault.files.disk import DiskError
from showvault.vault.opening import Vault
from showvault.vault.parts import blob_id
from showvault.vault.reader import MissingObjectError
from showvault.vault.refs import HeldRefError, MovedRefError
from showvault.vault.store import FILES, MAIN
from tests.vault.builders import keep, make_vault, opened


@pytest.fixture
def vault(tmp_path: Path) -> Iterator[Vault]:
    with opened(make_vault(tmp_path / "vault")) as vault:
        keep(vault, {"show/1.json": b"1"})
        yield vault


def test_a_branch_that_somebody_else_moved_is_left_where_it_is(vault: Vault) -> None:
    here = vault.store.head()
    assert here is not None
    with pytest.raises(MovedRefError) as caught:
        vault.store.move(MAIN, "1" * 40, "2" * 40)
    assert "save again" in caught.value.hint
    assert vault.store.head() == here
    assert list((vault.paths.history / "refs/heads").iterdir()) == [vault.paths.history / MAIN]


def test_a_lock_of_another_git_is_respected(vault: Vault) -> None:
    lock = vault.paths.history / f"{MAIN}.lock"
    lock.write_bytes(b"")
    here = vault.store.head()
    with pytest.raises(HeldRefError, match="another program's git"):
        vault.store.move(MAIN, "1" * 40, here)
    assert vault.store.head() == here
    assert lock.exists()


def test_a_ref_whose_name_no_disk_can_hold_is_told(vault: Vault) -> None:
    with pytest.raises(DiskError):
        vault.store.ref(f"refs/{'x' * 300}")


def test_packed_refs_that_cannot_be_read_are_told(vault: Vault) -> None:
    (vault.paths.history / "packed-refs").mkdir()
    with pytest.raises(DiskError):
        vault.store.ref("refs/heads/other")


def test_a_ref_that_somebody_elses_git_packed_is_found(vault: Vault) -> None:
    here = vault.store.head()
    vault.store.git.run("pack-refs", "--all", doing="pack")
    assert not (vault.paths.history / MAIN).exists()
    assert vault.store.head() == here
    assert keep(vault, {"show/1.json": b"2"}).number == 2


def test_a_part_that_a_version_does_not_have_is_told_by_its_name(vault: Vault) -> None:
    head = vault.store.head()
    assert head is not None
    with pytest.raises(MissingObjectError, match=r"show/2\.json"):
        vault.store.read_parts(head, ["show/2.json"])


def test_a_half_written_ref_is_put_back(vault: Vault) -> None:
    here = vault.store.head()
    (vault.paths.history / MAIN).write_bytes(b"half")
    vault.store.put_back(MAIN, here, holding=None)
    assert vault.store.head() == here


def test_a_ref_that_was_not_there_is_taken_away_again(vault: Vault) -> None:
    here = vault.store.head()
    assert here is not None
    vault.store.move("refs/showvault/x", here, None)
    vault.store.put_back("refs/showvault/x", None, holding=None)
    assert vault.store.ref("refs/showvault/x") is None
    (vault.paths.history / "refs/showvault/x").write_bytes(b"half")
    vault.store.put_back("refs/showvault/x", None, holding=None)
    assert vault.store.ref("refs/showvault/x") is None


def test_a_damaged_ref_of_a_file_counts_as_none_and_is_written_again(vault: Vault) -> None:
    data = b"desk file"
    version = keep(vault, {}, data=data, role="opaque", path="/shows/evening.desk")
    sha256 = version.files[0].sha256
    ref = vault.paths.history / FILES / sha256
    ref.write_bytes(b"\0" * 41)
    assert vault.store.file_ref(sha256) is None
    assert not vault.store.has_file(sha256, blob_id(data))


def test_a_blob_that_is_gone_is_told_among_others(vault: Vault) -> None:
    with pytest.raises(MissingObjectError):
        vault.store.read_blobs([blob_id(b"1"), "f" * 40])
    assert not vault.store.holds("f" * 40)
    assert vault.store.holds(blob_id(b"1"))
