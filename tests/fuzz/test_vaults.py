"""What a vault itself is read from, changed by a stranger or a dying disk; see fuzzing.py.

Whatever stands in these files, nothing but a ShowvaultError comes of opening, listing, checking and
saving; and what the history still holds whole is still given back.
"""

import json
import shutil
from collections.abc import Callable, Iterator
from datetime import UTC
from pathlib import Path
from typing import Any

import pytest
from hypothesis import strategies as st
from hypothesis.strategies import SearchStrategy

from showvault.errors import ShowvaultError
from showvault.files.lock import read_holder
from showvault.flows.protection import look_at_protection
from showvault.report.listing import listing_text
from showvault.report.protection import protection_text
from showvault.vault.asking import resolve
from showvault.vault.checking import check_vault, mend_vault
from showvault.vault.finding import all_vaults, find_vault, watches
from showvault.vault.housekeeping import housekeep
from showvault.vault.journal import known_packs, last_version, read_journal
from showvault.vault.labels import load_labels
from showvault.vault.layout import read_vault_file
from showvault.vault.opening import Vault, open_vault
from showvault.vault.ring import read_ring_name, ring_name
from showvault.vault.store import LABELS, MAIN
from showvault.vault.trees import read_tree
from showvault.vault.versions import encode_version, list_versions
from tests.fuzz.fuzzing import fuzz, nothing_done_outside, scratch
from tests.fuzz.mutating import as_json, changed_fields, damaged
from tests.vault.builders import START, Ticking, keep, make_vault, opened, parts_of

GITS = frozenset({"subprocess.Popen"})


@pytest.fixture(scope="module")
def whole() -> Iterator[Path]:
    """A vault with a few versions, a desk's file among them, and a label."""
    place = scratch()
    folder = make_vault(place / "vault")
    with opened(folder) as vault:
        keep(vault, {"show/cues/1.json": b"one"}, label="first")
        keep(vault, {}, data=b"desk file", role="opaque", path="/shows/evening.desk")
        keep(vault, {"show/cues/1.json": b"two", "show/skeleton": b"{}"})
        housekeep(vault)
    (folder / "ballast").write_bytes(b"")
    yield folder
    shutil.rmtree(place)


Damage = Callable[[Path, Any], None]


def try_everything(whole: Path, damage: Callable[[Path], None]) -> Path:
    """Damage a copy of the vault, then do with it whatever is done with vaults."""
    folder = whole.with_name("damaged")
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(whole, folder)
    damage(folder)
    with nothing_done_outside(folder, but=GITS), open_vault(folder, clock=Ticking()) as vault:
        for act in (look, say, check_vault, housekeep, mend_vault, save):
            try:
                act(vault)
            except ShowvaultError as error:
                assert str(error)
    return folder


def try_to_lose(whole: Path, damage: Callable[[Path], None]) -> None:
    """The same, where no object was touched: every version is still there afterwards."""
    with opened(whole) as vault:
        before = {
            version.commit: parts_of(vault, version) for version in list_versions(vault.store)
        }
    with opened(try_everything(whole, damage)) as vault:
        after = {version.commit: parts_of(vault, version) for version in list_versions(vault.store)}
        assert before.items() <= after.items()
        assert check_vault(vault) == []


def look(vault: Vault) -> None:
    versions = list_versions(vault.store)
    for version in versions:
        assert version.moment
    for words in ("latest", "previous", "2", "first", "22:15", "yesterday"):
        try:
            resolve(vault.store, words, now=Ticking()(), tz=UTC)
        except ShowvaultError as error:
            assert str(error)


def say(vault: Vault) -> None:
    read_holder(vault.paths.locks, "watcher")
    assert protection_text(look_at_protection(vault), START)
    assert listing_text(list_versions(vault.store), START, 100)


def save(vault: Vault) -> None:
    version = keep(vault, {"show/cues/1.json": b"after the damage"})
    assert list_versions(vault.store, 1)[0].commit == version.commit


def overwrite(name: str) -> Callable[[Path, bytes], None]:
    def damage(folder: Path, data: bytes) -> None:
        path = folder / name
        if path.exists():
            path.chmod(0o600)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)

    return damage


@pytest.mark.parametrize(
    "name",
    [
        "journal",
        f"history.git/{MAIN}",
        f"history.git/{LABELS}",
        "history.git/packed-refs",
        "history.git/HEAD",
        "history.git/config",
        "locks/writer.holder",
    ],
)
def test_a_file_of_the_vault_with_damaged_bytes(whole: Path, name: str) -> None:
    path = whole / name
    sample = path.read_bytes() if path.exists() else (whole / "journal").read_bytes()
    cases = damaged([sample], [b"0" * 40, b"ref: refs/heads/main\n", b"=", b"-", b"[core]\n"])
    damage = overwrite(name)
    fuzz(cases, lambda data: try_to_lose(whole, lambda at: damage(at, data)), steady=8)


def test_a_description_with_changed_fields(whole: Path) -> None:
    sample = json.loads((whole / "vault.json").read_bytes())
    cases = changed_fields([sample]).map(as_json)
    damage = overwrite("vault.json")
    fuzz(cases, lambda data: try_everything(whole, lambda at: damage(at, data)), steady=12)


def test_a_description_is_read_or_refused(whole: Path) -> None:
    """Many more of them, for nothing else is opened."""
    text = (whole / "vault.json").read_bytes()
    folder = whole.with_name("described")
    folder.mkdir(exist_ok=True)

    def read(data: bytes) -> None:
        (folder / "vault.json").write_bytes(data)
        with nothing_done_outside():
            watches(read_vault_file(folder), Path("/shows/evening.json"))

    cases = st.one_of(damaged([text]), changed_fields([json.loads(text)]).map(as_json))
    fuzz(cases, read, steady=150)


def test_a_journal_is_read_line_by_line(whole: Path) -> None:
    text = (whole / "journal").read_bytes()
    path = whole.with_name("journal")

    def read(data: bytes) -> None:
        path.write_bytes(data)
        with nothing_done_outside():
            entries = read_journal(path)
            last_version(entries)
            known_packs(entries)

    fuzz(damaged([text], [b"\n", b" ", b"=", b"-", b","]), read, steady=150)


def test_the_list_of_vaults_elsewhere_and_the_settings(whole: Path) -> None:
    home = whole.with_name("home")
    home.mkdir(exist_ok=True)
    environ = {"SHOWVAULT_HOME": str(home)}
    listed = [str(whole).encode() + b"\n/nowhere\n"]
    settings = [f'vault = "{whole.as_posix()}"\n'.encode(), b'vault = ""\n', b"vault = 1\n"]

    def find(case: tuple[bytes, bytes]) -> None:
        (home / "vaults.txt").write_bytes(case[0])
        (home / "config.toml").write_bytes(case[1])
        with nothing_done_outside():
            all_vaults(environ)
            find_vault(None, environ)

    fuzz(st.tuples(damaged(listed), damaged(settings)), find, steady=100)


def test_any_name_in_the_ring_is_ours_or_not() -> None:
    def read(data: bytes) -> None:
        name = data.decode("utf-8", "surrogateescape")
        copy = read_ring_name(name)
        assert copy is None or copy.number >= 0

    names = [ring_name(1, START, "evening.json").encode(), b".pending-000001_x", b"notes.txt"]
    fuzz(damaged(names), read, steady=200)


def test_any_names_in_the_ring(whole: Path) -> None:
    sample = [path.name.encode() for path in (whole / "ring").iterdir()]
    names = damaged(sample, [b".pending-", b"_", b"000009", b"~2"]).map(as_file_name)

    def add(case: list[tuple[str, bytes]]) -> None:
        def damage(folder: Path) -> None:
            for name, data in case:
                (folder / "ring" / name).write_bytes(data)

        try_everything(whole, damage)

    fuzz(
        st.lists(st.tuples(names, st.sampled_from([b"", b"one", b"x"])), max_size=4), add, steady=8
    )


def as_file_name(data: bytes) -> str:
    name = data.replace(b"/", b"_").replace(b"\0", b"_")[:200].decode("utf-8", "replace")
    return name if name not in ("", ".", "..") else "x"


def test_any_bytes_are_a_tree_or_refused(whole: Path) -> None:
    with opened(whole) as vault:
        commit = vault.store.head()
        tree = vault.store.reader.read(f"{commit}^{{tree}}").data
        show = vault.store.reader.read(f"{commit}:show").data

    def read(data: bytes) -> None:
        for entry in read_tree(data):
            assert len(entry.oid) == 40

    fuzz(damaged([tree, show], [b"40000 a\0", b"100644 "]), read, steady=200)


def plant(folder: Path, path: str, data: bytes, ref: str = MAIN) -> None:
    """Make a commit with ``data`` at ``path`` the newest one, as a stranger's git would."""
    with opened(folder) as vault:
        git = vault.store.git
        parent = vault.store.ref(ref)
        blob = git.run("hash-object", "-w", "--stdin", doing="plant", stdin=data).decode().strip()
        tree = git.run("mktree", doing="plant", stdin=f"100644 blob {blob}\t{path}\n".encode())
        commit_of(vault, tree.decode().strip(), ref, parent)


def plant_tree(folder: Path, data: bytes) -> None:
    """The same with a tree that git itself would not write."""
    with opened(folder) as vault:
        written = vault.store.git.run(
            *("hash-object", "-t", "tree", "--literally", "-w", "--stdin"),
            doing="plant",
            stdin=data,
        )
        commit_of(vault, written.decode().strip(), MAIN, vault.store.head())


def commit_of(vault: Vault, tree: str, ref: str, parent: str | None) -> None:
    text = f"tree {tree}\n" + (f"parent {parent}\n" if parent else "")
    text += "author A <> 1 +0000\ncommitter A <> 1 +0000\n\nplanted\n"
    commit = vault.store.git.run(
        *("hash-object", "-t", "commit", "--literally", "-w", "--stdin"),
        doing="plant",
        stdin=text.encode(),
    )
    (vault.paths.history / ref).write_bytes(commit.strip() + b"\n")


def planted(path: str, ref: str = MAIN) -> Damage:
    return lambda folder, data: plant(folder, path, data, ref)


def records_of(whole: Path) -> tuple[SearchStrategy[bytes], SearchStrategy[bytes]]:
    """Records of a version and of labels, with changed fields or bytes."""
    with opened(whole) as vault:
        versions = [encode_version(version) for version in list_versions(vault.store)]
        labels = json.dumps([{"text": "x", "commit": versions and vault.store.head(), "who": "A"}])
    return (
        st.one_of(damaged(versions), changed_fields(list(map(json.loads, versions))).map(as_json)),
        st.one_of(damaged([labels.encode()]), changed_fields([json.loads(labels)]).map(as_json)),
    )


def test_a_record_of_a_version_from_a_stranger(whole: Path) -> None:
    records, _ = records_of(whole)
    fuzz(
        records,
        lambda data: try_everything(whole, lambda at: plant(at, "version.json", data)),
        steady=12,
    )


def test_a_record_of_labels_from_a_stranger(whole: Path) -> None:
    _, records = records_of(whole)
    fuzz(
        records,
        lambda data: try_everything(whole, lambda at: plant(at, "labels.json", data, LABELS)),
        steady=5,
    )


def test_a_tree_from_a_stranger(whole: Path) -> None:
    with opened(whole) as vault:
        tree = vault.store.reader.read(f"{vault.store.head()}^{{tree}}").data
    cases = damaged([tree], [b"40000 a\0" + b"\1" * 20, b"100644 ..\0" + b"\2" * 20, b"160000 s\0"])
    fuzz(
        cases,
        lambda data: try_everything(whole, lambda at: plant_tree(at, data)),
        steady=8,
    )


def test_the_whole_vault_is_taken_as_it_is(whole: Path) -> None:
    """Else the tests above would only show how rubbish is refused."""
    try_everything(whole, lambda folder: None)
    with opened(whole) as vault:
        assert [version.number for version in list_versions(vault.store)] == [3, 2, 1]
        assert check_vault(vault) == []
        assert load_labels(vault.store)
