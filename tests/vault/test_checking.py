from pathlib import Path

import pytest

from showvault.vault.checking import check_vault, copies_without_version, mend_vault, say_versions
from showvault.vault.journal import read_journal
from showvault.vault.opening import Vault
from tests.vault.builders import keep, make_vault, opened


@pytest.fixture
def vault(tmp_path: Path):
    with opened(make_vault(tmp_path / "vault")) as vault:
        for number in range(3):
            keep(vault, {"show/n": b"%d" % number})
        yield vault


def test_a_vault_as_it_was_kept_has_no_damage(vault: Vault) -> None:
    assert check_vault(vault) == []
    assert copies_without_version(vault) == []
    assert mend_vault(vault) == []


def test_a_plain_copy_that_was_changed_by_hand_is_named(vault: Vault) -> None:
    newest = sorted(vault.paths.ring.iterdir())[-1]
    newest.chmod(0o600)
    newest.write_bytes(b"changed")
    told = [str(damage) for damage in check_vault(vault)]
    assert any(newest.name in sentence for sentence in told)
    assert any("no whole copy of the newest" in sentence for sentence in told)


def test_a_whole_file_that_is_gone_from_the_history_is_named(vault: Vault) -> None:
    keep(vault, {}, data=b"desk" * 100, role="opaque", path="/shows/evening.desk")
    (newest,) = (
        path
        for path in (vault.paths.history / "objects/pack").glob("*.pack")
        if path.name == read_journal(vault.paths.journal)[-1].packs[0]
    )
    keep(vault, {"show/n": b"9"})
    newest.chmod(0o600)
    data = bytearray(newest.read_bytes())
    data[len(data) // 2] ^= 0xFF
    newest.write_bytes(data)
    vault.store.close()
    assert check_vault(vault) != []


def test_a_branch_that_says_nothing_is_named(vault: Vault) -> None:
    (vault.paths.history / "refs/heads/main").write_bytes(b"nothing\n")
    assert any(damage.where == "history" for damage in check_vault(vault))


def told_without(vault: Vault, oid: str) -> list[str]:
    """Take one object away, leaving every other alone; return what is said of versions."""
    for pack in vault.paths.packs.glob("*.pack"):
        data = pack.read_bytes()
        pack.with_suffix(".idx").unlink()
        pack.unlink()
        vault.store.git.run("unpack-objects", "-q", doing="unpack", stdin=data)
    (vault.paths.history / "objects" / oid[:2] / oid[2:]).unlink()
    vault.store.close()
    return [str(damage) for damage in check_vault(vault) if damage.where == "version"]


def test_a_desks_file_that_is_gone_alone_is_named_by_the_version_that_holds_it(
    vault: Vault,
) -> None:
    """No pack is damaged and git misses nothing but what a ref of its own led to."""
    version = keep(vault, {}, data=b"desk" * 100, role="opaque", path="/shows/evening.desk")
    (file,) = version.files
    told = told_without(vault, file.blob)
    assert len(told) == 1
    assert "version 4" in told[0]


@pytest.mark.parametrize(
    ("numbers", "said"),
    [([4], "version 4"), ([5, 4], "versions 4 to 5"), ([9, 6, 5, 4, 2], "versions 2, 4 to 6, 9")],
)
def test_all_versions_that_hold_a_damaged_file_are_named(numbers: list[int], said: str) -> None:
    assert say_versions(numbers) == said


def test_a_desks_file_that_is_gone_is_named_with_every_version_that_holds_it(vault: Vault) -> None:
    desk = {"data": b"desk" * 100, "role": "opaque", "path": "/shows/evening.desk"}
    (file,) = keep(vault, {}, **desk).files
    keep(vault, {"show/n": b"9"})
    keep(vault, {}, **desk)
    told = told_without(vault, file.blob)
    assert [text.partition(":")[0] for text in told] == ["versions 4, 6"]
