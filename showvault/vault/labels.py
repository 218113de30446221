"""Names that people give to versions: a small line of commits of their own, beside the versions.

A label holds any text and names one version; a text stands for one version at a time, whatever
the case it is typed in.
"""

import msgspec

from showvault.errors import ShowvaultError
from showvault.vault.store import LABELS, Store

RECORD = "labels.json"
LONGEST = 1000


class Label(msgspec.Struct, frozen=True, kw_only=True):
    """One label."""

    text: str
    commit: str
    """Of the version it names."""

    who: str
    time: str
    """RFC 3339, UTC: when it was given."""


class DamagedLabelsError(ShowvaultError):
    """The record of labels cannot be read."""

    exit_code = 7

    def __init__(self) -> None:
        super().__init__(
            "the record of labels is damaged",
            hint=f"earlier ones are in the vault's history under {LABELS}",
        )


class LabelTakenError(ShowvaultError):
    """The label already names another version."""

    def __init__(self, text: str) -> None:
        super().__init__(
            f"the label {text!r} already names another version",
            hint="choose another text, or remove that label first",
        )
        self.text = text


class LabelNotFoundError(ShowvaultError):
    """No version carries the label."""

    exit_code = 4

    def __init__(self, text: str) -> None:
        super().__init__(f"no version carries the label {text!r}")
        self.text = text


class EmptyLabelError(ShowvaultError):
    """The label says nothing, or too much."""

    exit_code = 2

    def __init__(self) -> None:
        super().__init__(f"a label has 1 to {LONGEST} characters")


def read_labels(store: Store) -> dict[str, tuple[str, ...]]:
    """Every label: commit -> texts, in the order they were given.

    An unreadable record counts as no labels: it must not hide the versions.
    """
    texts: dict[str, tuple[str, ...]] = {}
    try:
        labels = load_labels(store)
    except ShowvaultError:
        return {}
    for label in labels:
        texts[label.commit] = (*texts.get(label.commit, ()), label.text)
    return texts


def load_labels(store: Store) -> tuple[Label, ...]:
    """Every label in the order they were given.

    Raises DamagedLabelsError, DamagedRefError, MissingObjectError.
    """
    commit = store.ref(LABELS)
    if commit is None:
        return ()
    return labels_of(store, commit)


def labels_of(store: Store, commit: str) -> tuple[Label, ...]:
    """The labels as one record of them has them. Raises DamagedLabelsError, MissingObjectError."""
    text = store.reader.read(f"{commit}:{RECORD}").data
    try:
        return msgspec.json.decode(text, type=tuple[Label, ...])
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        raise DamagedLabelsError from error


def encode_labels(labels: tuple[Label, ...]) -> bytes:
    """The record that `load_labels` reads."""
    return msgspec.json.format(msgspec.json.encode(labels), indent=1) + b"\n"


def with_label(labels: tuple[Label, ...], new: Label) -> tuple[Label, ...]:
    """``labels`` and ``new``. Raises LabelTakenError, EmptyLabelError."""
    if not new.text.strip() or len(new.text) > LONGEST:
        raise EmptyLabelError
    for label in labels:
        if _same(label.text, new.text):
            if label.commit != new.commit:
                raise LabelTakenError(new.text)
            return labels
    return (*labels, new)


def without_label(labels: tuple[Label, ...], text: str) -> tuple[Label, ...]:
    """``labels`` but for ``text``. Raises LabelNotFoundError."""
    rest = tuple(label for label in labels if not _same(label.text, text))
    if len(rest) == len(labels):
        raise LabelNotFoundError(text)
    return rest


def _same(one: str, other: str) -> bool:
    return one.strip().casefold() == other.strip().casefold()
