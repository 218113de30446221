"""What can be seen of damage in a moment: gone, cut off, of another size; nothing else is told."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from showvault.vault.glancing import glance_at_vault
from showvault.vault.housekeeping import housekeep
from showvault.vault.opening import Vault
from showvault.vault.versions import list_versions
from tests.vault.builders import keep, make_vault, opened


@pytest.fixture
def vault(tmp_path: Path) -> Iterator[Vault]:
    with opened(make_vault(tmp_path / "vault")) as vault:
        keep(vault, {"show/n": b"1"})
        housekeep(vault)
        yield vault


def glanced(vault: Vault) -> list[tuple[str, str]]:
    found = glance_at_vault(vault, list_versions(vault.store))
    return [(damage.where, str(damage)) for damage in found]


def pack_of(vault: Vault) -> Path:
    (pack,) = (vault.paths.history / "objects" / "pack").glob("*.pack")
    pack.chmod(0o600)
    return pack


def test_a_whole_vault_shows_nothing(vault: Vault) -> None:
    assert glanced(vault) == []


def test_a_pack_that_is_cut_off_or_overwritten_is_seen_by_its_end(vault: Vault) -> None:
    pack = pack_of(vault)
    whole = pack.read_bytes()
    for damage in (whole[:-3], whole[:-1] + b"\0", b"short", b""):
        pack.write_bytes(damage)
        assert ("history", f"the pack {pack.name} of the history is cut off or overwritten") in (
            glanced(vault)
        )


def test_an_index_that_is_cut_off_or_gone_is_seen_by_its_end(vault: Vault) -> None:
    pack = pack_of(vault)
    index = pack.with_suffix(".idx")
    index.chmod(0o600)
    for damage in (index.read_bytes()[:-3], b"short", b"", None):
        index.unlink() if damage is None else index.write_bytes(damage)
        assert glanced(vault) == [
            ("history", f"the index of the pack {pack.name} is cut off or overwritten")
        ]


def test_a_second_copy_of_another_size_is_seen(vault: Vault) -> None:
    (second,) = vault.paths.second.glob("*.pack")
    second.chmod(0o600)
    second.write_bytes(second.read_bytes() + b"x")
    assert glanced(vault) == [
        ("second", f"the second copy of the pack {second.name} has another size")
    ]


def test_a_second_copy_that_was_not_made_yet_is_no_damage(vault: Vault) -> None:
    keep(vault, {"show/n": b"2"})
    assert glanced(vault) == []


@pytest.mark.parametrize("damage", [None, b"", b"other size"])
def test_the_newest_without_a_plain_copy_of_its_size_is_told(
    vault: Vault, damage: bytes | None
) -> None:
    (copy,) = vault.paths.ring.iterdir()
    copy.chmod(0o600)
    copy.unlink() if damage is None else copy.write_bytes(damage)
    assert glanced(vault) == [("ring", "the ring has no whole copy of the newest evening.json")]


def test_an_empty_vault_shows_nothing(tmp_path: Path) -> None:
    with opened(make_vault(tmp_path / "vault")) as vault:
        assert glanced(vault) == []


def test_a_copy_that_is_a_folder_or_a_dangling_link_has_no_size(vault: Vault) -> None:
    (copy,) = vault.paths.ring.iterdir()
    name = copy.name
    copy.unlink()
    (vault.paths.ring / name).symlink_to("nowhere")
    assert [where for where, _ in glanced(vault)] == ["ring"]
