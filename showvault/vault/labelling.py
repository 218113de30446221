"""How a label is given and taken away: published like a version, under the same lock."""

import contextlib
from collections.abc import Iterator
from datetime import datetime

from showvault.errors import ShowvaultError
from showvault.vault.journal import Entry, append_entry
from showvault.vault.labels import (
    RECORD,
    Label,
    encode_labels,
    load_labels,
    with_label,
    without_label,
)
from showvault.vault.opening import Vault
from showvault.vault.store import LABELS, Store
from showvault.vault.storing import NewCommit
from showvault.vault.times import format_time


def set_label(vault: Vault, commit: str, text: str, *, who: str) -> None:
    """Let ``text`` name the version of ``commit``.

    Raises LabelTakenError, EmptyLabelError, DiskError, GitError; then no label has changed.
    """
    with _changing(vault, "labelling a version"):
        now = vault.clock()
        before = load_labels(vault.store)
        labels = with_label(before, Label(text=text, commit=commit, who=who, time=format_time(now)))
        if labels != before:
            _publish(vault.store, labels, f"label: {text}", who, now)


def remove_label(vault: Vault, text: str, *, who: str) -> None:
    """Take the label ``text`` away.

    Raises LabelNotFoundError, DiskError, GitError; then no label has changed.
    """
    with _changing(vault, "removing a label"):
        rest = without_label(load_labels(vault.store), text)
        _publish(vault.store, rest, f"no longer: {text}", who, vault.clock())


def _publish(
    store: Store,
    labels: tuple[Label, ...],
    message: str,
    who: str,
    now: datetime,
) -> None:
    parent = store.ref(LABELS)
    offset = now.utcoffset()
    commit = NewCommit(
        parent=parent,
        removed=(),
        message=message,
        author=who,
        email="",
        seconds=int(now.timestamp()),
        offset_minutes=int(offset.total_seconds() // 60) if offset else 0,
    )
    new = store.write_commit({RECORD: encode_labels(labels)}, (), commit)
    store.sync_packs()
    store.move(LABELS, new.commit, parent)
    store.let_go(new.pack)


@contextlib.contextmanager
def _changing(vault: Vault, what: str) -> Iterator[None]:
    """Hold the lock; record the change at the end, or take it back."""
    store = vault.store
    with vault.writing(what) as lock:
        packs = store.pack_names()
        before = store.ref(LABELS)
        try:
            yield
            entry = Entry(
                number=0,
                sha256="",
                commit=store.ref(LABELS) or "",
                packs=store.written_since(packs),
                replaces=False,
            )
            append_entry(vault.paths.journal, entry, disk=vault.disk)
        except BaseException:
            try:
                store.put_back(LABELS, before, holding=lock.descriptor)
                store.discard_packs(packs)
            except (ShowvaultError, OSError):
                lock.abandon()  # the next opening mends it
            raise
