import os
import re
from pathlib import Path

import msgspec
import pytest

from showvault.vault.labelling import remove_label, set_label
from showvault.vault.labels import EmptyLabelError, LabelNotFoundError, LabelTakenError
from showvault.vault.opening import Vault
from showvault.vault.reader import MissingObjectError
from showvault.vault.store import Store
from showvault.vault.versions import (
    DamagedVersionError,
    encode_version,
    latest_good,
    list_versions,
    read_file,
    read_version,
)
from tests.fuzz.test_vaults import plant
from tests.vault.builders import keep, make_vault, opened


@pytest.fixture
def vault(tmp_path: Path):
    with opened(make_vault(tmp_path / "vault")) as vault:
        yield vault


def test_a_new_vault_has_no_versions(vault: Vault) -> None:
    assert list_versions(vault.store) == []
    assert latest_good(vault.store) is None


def test_versions_are_listed_newest_first_as_they_were_published(vault: Vault) -> None:
    fields = {"note": "n", "summary": "s", "understood": False, "reader": "neutral 1"}
    published = [keep(vault, {"show/n": b"%d" % n}, **fields) for n in range(3)]
    assert list_versions(vault.store) == published[::-1]
    assert list_versions(vault.store, limit=2) == published[:0:-1]
    assert read_version(vault.store, published[0].commit) == published[0]


def test_the_newest_good_one_is_behind_those_that_were_set_aside(vault: Vault) -> None:
    good = keep(vault, {"show/n": b"1"})
    keep(vault, {}, data=b"{", role="set_aside", good=False)
    assert latest_good(vault.store) == good


def test_a_record_that_is_damaged_hides_no_other_version(vault: Vault) -> None:
    """A stranger's commit in the middle: its record is not one of ours."""
    first = keep(vault, {"show/n": b"1"})
    second = keep(vault, {"show/n": b"2"})
    foreign = vault.store.git.run(
        *("-c", "user.name=x", "-c", "user.email=x", "commit-tree", "-p", second.commit),
        *("-m", "x", vault.store.git.run("mktree", doing="x", stdin=b"").decode().strip()),
        doing="x",
    )
    commit = foreign.decode().strip()
    vault.store.git.run("update-ref", "refs/heads/main", commit, doing="x")
    listed = list_versions(vault.store)
    assert [version.number for version in listed] == [0, 2, 1]
    assert not listed[0].good
    assert listed[1:] == [second, first]


def test_a_file_whose_bytes_are_not_its_own_is_told(vault: Vault) -> None:
    version = keep(vault, {}, data=b"desk", role="opaque")
    wrong = msgspec.structs.replace(version.files[0], sha256="0" * 64)
    with pytest.raises(DamagedVersionError):
        read_file(vault.store, wrong)


def test_a_version_can_carry_several_labels_in_the_order_they_were_given(vault: Vault) -> None:
    version = keep(vault, {"show/n": b"1"})
    set_label(vault, version.commit, "preview", who="Ada")
    set_label(vault, version.commit, "first night", who="Bo")
    (listed,) = list_versions(vault.store)
    assert listed.labels == ("preview", "first night")
    assert listed.label == "preview, first night"


def test_the_same_label_twice_on_one_version_is_one_label(vault: Vault) -> None:
    version = keep(vault, {"show/n": b"1"})
    set_label(vault, version.commit, "preview", who="Ada")
    set_label(vault, version.commit, "PREVIEW", who="Ada")
    assert list_versions(vault.store)[0].labels == ("preview",)


def test_a_label_names_one_version(vault: Vault) -> None:
    one, two = keep(vault, {"show/n": b"1"}), keep(vault, {"show/n": b"2"})
    set_label(vault, one.commit, "preview", who="Ada")
    with pytest.raises(LabelTakenError):
        set_label(vault, two.commit, " Preview ", who="Ada")
    remove_label(vault, "preview", who="Ada")
    set_label(vault, two.commit, "preview", who="Ada")
    assert [version.labels for version in list_versions(vault.store)] == [("preview",), ()]


def test_a_label_that_says_nothing_or_that_nobody_gave_is_told(vault: Vault) -> None:
    version = keep(vault, {"show/n": b"1"})
    for text in ("", " \t", "x" * 1001):
        with pytest.raises(EmptyLabelError):
            set_label(vault, version.commit, text, who="Ada")
    with pytest.raises(LabelNotFoundError) as caught:
        remove_label(vault, "nobody's", who="Ada")
    assert caught.value.exit_code == 4


@pytest.mark.parametrize(
    "text",
    ["--upload-pack=x", "a\nb", "\x1b]52;c;x\x07", "=cmd|x", "\u202e", "refs/heads/main", "✓"],
)
def test_a_label_is_any_text(vault: Vault, text: str) -> None:
    version = keep(vault, {"show/n": b"1"}, label=text)
    assert list_versions(vault.store)[0].labels == (text,)
    assert version.labels == (text,)


def test_damaged_labels_hide_no_version(vault: Vault) -> None:
    version = keep(vault, {"show/n": b"1"}, label="x")
    (vault.paths.history / "refs/showvault/labels").write_text("not a commit\n")
    (listed,) = list_versions(vault.store)
    assert listed.commit == version.commit


@pytest.mark.parametrize(
    ("field", "value"),
    [
        *(("offset_minutes", value) for value in ("9999", "1440", "-1440")),
        *(("number", value) for value in ("0", "-1", "1000000000000", "1e3", "1.5")),
        *(("sha256", f'"{value}"') for value in ("٣" * 64, "A" * 64, "0" * 63, "0" * 64 + "\\n")),
        *(("blob", f'"{value}"') for value in ("--all", "0" * 64, "٣" * 40)),
        *(("size", "-1"), ("since", "-1")),
    ],
)
def test_a_record_in_which_something_cannot_be_is_damaged(
    tmp_path: Path, field: str, value: str
) -> None:
    """A stranger's; else its time could not be said, or the journal not tell of it."""
    folder = make_vault(tmp_path / "vault")
    with opened(folder) as vault:
        record = encode_version(keep(vault, {}, data=b"desk", role="opaque")).decode()
    odd = re.sub(rf'"{field}": ?("[^"]*"|-?\d+)', lambda _: f'"{field}": {value}', record).encode()
    assert odd != record.encode()
    plant(folder, "version.json", odd)
    store = Store(folder / "history.git", os.environ)
    with pytest.raises(DamagedVersionError):
        read_version(store, str(store.head()))
    assert list_versions(store)[0].reason == "the record is damaged"
    store.close()


def test_a_strangers_commit_whose_parent_is_no_name_ends_the_walk_with_an_error_of_ours(
    vault: Vault,
) -> None:
    keep(vault, {}, data=b"{", role="set_aside", good=False)
    tree = vault.store.reader.read(f"{vault.store.head()}^{{tree}}").oid
    text = f"tree {tree}\nparent ".encode() + b"\xff" * 40
    text += b"\nauthor A <> 1 +0000\ncommitter A <> 1 +0000\n\nplanted\n"
    commit = vault.store.git.run(
        *("hash-object", "-t", "commit", "--literally", "-w", "--stdin"), doing="plant", stdin=text
    )
    (vault.paths.history / "refs/heads/main").write_bytes(commit.strip() + b"\n")
    with pytest.raises(MissingObjectError):
        latest_good(vault.store)
