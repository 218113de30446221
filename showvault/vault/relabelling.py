"""How the labels are found again when the ref that names them is damaged or gone."""

from showvault.files.durable import copy_durably, write_durably
from showvault.vault.git import GitError
from showvault.vault.journal import read_journal_end
from showvault.vault.labels import RECORD
from showvault.vault.layout import VaultPaths
from showvault.vault.quarantine import Repair, set_aside
from showvault.vault.reader import MissingObjectError
from showvault.vault.ring import free_name, list_names
from showvault.vault.store import LABELS, DamagedRefError, Store
from showvault.vault.versions import parent_of


def settle_labels(paths: VaultPaths, store: Store) -> list[Repair]:
    """Bring the newest labels back where their ref leads nowhere. Raises DiskError."""
    try:
        commit = store.ref(LABELS)
    except DamagedRefError:
        commit = ""
    if commit is None:
        entries = read_journal_end(paths.journal)
        if not any(entry.commit and not entry.number for entry in entries):
            return []  # there never were any
    elif _holds_labels(store, commit):
        return []
    newest = _newest_labels(store)  # before anything is touched: it may fail
    place = paths.history / LABELS
    if newest is None:
        if place.exists():
            set_aside(paths, place, store.disk)
        return [Repair("the labels are lost: nothing in the history holds them any more")]
    if place.exists():  # a copy: were it moved, a cut between here and there would lose the labels
        taken = list_names(paths.quarantine, disk=store.disk)
        aside = paths.quarantine / free_name(place.name, taken)
        copy_durably(place, aside, disk=store.disk)
    write_durably(place, f"{newest}\n".encode(), disk=store.disk)
    return [Repair("the labels were brought back: what named them was damaged")]


def _newest_labels(store: Store) -> str | None:
    """Of all that is in the history, the record of labels with the most before it."""
    parents = {commit: _parent(store, commit) for commit in _commits(store)}
    records = {commit for commit in parents if _holds_labels(store, commit)}
    return max(sorted(records), key=lambda commit: _count_before(commit, parents), default=None)


def _commits(store: Store) -> list[str]:
    try:
        listed = store.git.run(
            *("cat-file", "--batch-all-objects", "--batch-check=%(objecttype) %(objectname)"),
            doing="look for the labels",
        )
    except GitError:
        return []
    lines = (line.split(b" ") for line in listed.splitlines())
    return [name.decode("ascii") for kind, name in lines if kind == b"commit"]


def _parent(store: Store, commit: str) -> str | None:
    try:
        return parent_of(store, commit)
    except MissingObjectError:
        return None


def _count_before(commit: str, parents: dict[str, str | None]) -> int:
    count = 0
    at = parents.get(commit)
    while at is not None:
        at = parents.get(at)
        count += 1
    return count


def _holds_labels(store: Store, commit: str) -> bool:
    try:
        store.reader.read(f"{commit}:{RECORD}")
    except MissingObjectError:
        return False
    return True
