"""How the labels are found again when the ref that names them is damaged or gone."""

from showvault.files.durable import write_durably
from showvault.vault.journal import tells_of_labels
from showvault.vault.labels import RECORD, DamagedLabelsError, encode_labels, labels_of
from showvault.vault.layout import VaultPaths
from showvault.vault.packs import mend_packs
from showvault.vault.quarantine import Repair, keep_aside
from showvault.vault.reader import MissingObjectError
from showvault.vault.store import LABELS, DamagedRefError, Store
from showvault.vault.storing import NewCommit
from showvault.vault.versions import parent_of

BACK = Repair("the labels were brought back: what named them was damaged")
LOST = Repair("the labels are lost: nothing in the history holds them any more")


def settle_labels(paths: VaultPaths, store: Store, *, holding: int, now: float) -> list[Repair]:
    """Bring the newest labels back where their ref leads nowhere.

    ``now`` is in seconds since 1970. Raises DiskError, GitError.
    """
    try:
        commit = store.ref(LABELS)
    except DamagedRefError:
        commit = ""
    if commit is None:
        if not tells_of_labels(paths.journal):
            return []  # there never were any
    elif _holds_labels(store, commit):
        return []
    # Else a damaged pack would hide the newest, and older ones would take their place for good.
    repairs = mend_packs(paths, store, holding)
    newest = _newest_labels(store)  # before the ref is touched: it may fail
    keep_aside(paths, paths.history / LABELS, store.disk)
    if newest is None:
        _begin_anew(paths, store, now)
        return [*repairs, LOST]
    _point_to(newest, paths, store)
    return [*repairs, BACK]


def recall_labels(paths: VaultPaths, store: Store) -> list[Repair]:
    """Name the labels again that were told to be lost and are back, if none were given since.

    Raises DiskError, GitError.
    """
    try:
        none = store.ref(LABELS)
        if none is None or labels_of(store, none) or parent_of(store, none) is not None:
            return []
    except (DamagedRefError, MissingObjectError, DamagedLabelsError):  # settled with the rest
        return []
    newest = _newest_labels(store, without=none)
    if newest is None:
        return []
    _point_to(newest, paths, store)
    return [BACK]


def _begin_anew(paths: VaultPaths, store: Store, now: float) -> None:
    """Record that there are no labels, so that they are looked for and told to be lost once."""
    commit = NewCommit(
        parent=None,
        removed=(),
        message="the labels were lost",
        author="showvault",
        email="",
        seconds=int(now),
        offset_minutes=0,
    )
    stored = store.write_commit({RECORD: encode_labels(())}, (), commit)
    store.sync_packs()
    _point_to(stored.commit, paths, store)
    store.let_go(stored.pack)


def _point_to(commit: str, paths: VaultPaths, store: Store) -> None:
    write_durably(paths.history / LABELS, f"{commit}\n".encode(), disk=store.disk)


def _newest_labels(store: Store, without: str = "") -> str | None:
    """Of all that is in the history, the record of labels with the most before it."""
    parents = {commit: parent_of(store, commit) for commit in _commits(store)}
    records = {commit for commit in parents if commit != without and _holds_labels(store, commit)}
    return max(sorted(records), key=lambda commit: _count_before(commit, parents), default=None)


def _commits(store: Store) -> list[str]:
    listed = store.git.run(
        *("cat-file", "--batch-all-objects", "--batch-check=%(objecttype) %(objectname)"),
        doing="look for the labels",
    )
    lines = (line.split(b" ") for line in listed.splitlines())
    return [name.decode("ascii") for kind, name in lines if kind == b"commit"]


def _count_before(commit: str, parents: dict[str, str | None]) -> int:
    count = 0
    at = parents.get(commit)
    while at is not None:
        at = parents.get(at)
        count += 1
    return count


def _holds_labels(store: Store, commit: str) -> bool:
    try:
        labels_of(store, commit)
    except (MissingObjectError, DamagedLabelsError):
        return False
    return True
