"""Which versions lack something, held against what git itself misses."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from showvault.vault.lacking import find_lacking
from showvault.vault.opening import Vault
from showvault.vault.versions import list_versions
from tests.vault.builders import keep, make_vault, opened


@pytest.fixture
def vault(tmp_path: Path) -> Iterator[Vault]:
    """Three versions whose objects lie alone, so that single ones can be taken away."""
    with opened(make_vault(tmp_path / "vault")) as vault:
        keep(vault, {"show/cues/1.json": b"one", "show/cues/2.json": b"two"})
        keep(vault, {"show/cues/2.json": b"TWO"})
        keep(vault, {"show/patch.json": b"patch"})
        packs = vault.paths.history / "objects" / "pack"
        for pack in packs.glob("*.pack"):
            data = pack.read_bytes()
            pack.with_suffix(".idx").unlink()
            pack.unlink()
            vault.store.git.run("unpack-objects", "-q", doing="unpack", stdin=data)
        vault.store.close()
        yield vault


def commits(vault: Vault) -> list[str]:
    return [version.commit for version in list_versions(vault.store)]


def oid_of(vault: Vault, name: str) -> str:
    return vault.store.reader.read(name).oid


def take(vault: Vault, oid: str) -> None:
    vault.store.close()
    (vault.paths.history / "objects" / oid[:2] / oid[2:]).unlink()


def missing_by_git(vault: Vault, commit: str) -> set[str]:
    listed = vault.store.git.run(
        *("rev-list", "--objects", "--no-walk", "--missing=print", commit), doing="look"
    )
    return {line[1:].decode() for line in listed.splitlines() if line.startswith(b"?")}


def test_nothing_is_lacking_in_a_whole_history(vault: Vault) -> None:
    assert find_lacking(vault.store, commits(vault)) == {}


def test_a_part_that_is_gone_is_lacking_where_it_is_held(vault: Vault) -> None:
    third, second, first = commits(vault)
    part = oid_of(vault, f"{second}:show/cues/2.json")
    take(vault, part)
    assert find_lacking(vault.store, [third, second, first]) == {third: {part}, second: {part}}
    assert missing_by_git(vault, third) == {part}
    assert missing_by_git(vault, first) == set()


def test_a_folder_that_is_gone_is_lacking_and_what_it_held_cannot_be_told(vault: Vault) -> None:
    third, second, first = commits(vault)
    folder = oid_of(vault, f"{first}:show/cues")
    take(vault, folder)
    assert find_lacking(vault.store, [third, second, first]) == {first: {folder}}


def test_the_root_of_a_version_may_be_gone(vault: Vault) -> None:
    third, *_ = commits(vault)
    root = oid_of(vault, f"{third}^{{tree}}")
    take(vault, root)
    assert find_lacking(vault.store, [third]) == {third: {root}}


def test_a_version_that_is_gone_itself_is_left_out(vault: Vault) -> None:
    third, second, _ = commits(vault)
    take(vault, third)
    assert find_lacking(vault.store, [third, second]) == {}


def test_a_folder_that_a_strangers_git_wrote_wrong_counts_as_gone(vault: Vault) -> None:
    git = vault.store.git
    tree = git.run(
        *("hash-object", "-t", "tree", "--literally", "-w", "--stdin"), doing="plant", stdin=b"bad"
    ).strip()
    text = b"tree %s\nauthor A <> 1 +0000\ncommitter A <> 1 +0000\n\nx\n" % tree
    commit = git.run("hash-object", "-t", "commit", "-w", "--stdin", doing="plant", stdin=text)
    name = commit.decode().strip()
    assert find_lacking(vault.store, [name]) == {name: {tree.decode()}}
