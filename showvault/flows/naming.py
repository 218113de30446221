"""Giving a version a name: the name on one line, and who has it where it is taken."""

from collections.abc import Sequence

from showvault.errors import ShowvaultError
from showvault.vault.labelling import set_label
from showvault.vault.labels import LabelTakenError
from showvault.vault.opening import Vault
from showvault.vault.versions import Version, list_versions


class NameTakenError(ShowvaultError):
    """Another version has the name."""

    exit_code = LabelTakenError.exit_code

    def __init__(self, name: str, holder: Version) -> None:
        moment = f"{holder.moment:%Y-%m-%d %H:%M}"
        super().__init__(f"{name!r} already names version {holder.number} of {moment}")
        self.holder = holder
        taken_off = f"showvault label {holder.number} --remove {name}"
        self.hint = f"choose another name, or take it off first: {taken_off}"


def on_one_line(words: Sequence[str]) -> str:
    """Return a name as it is kept: line feeds and runs of spaces become one space."""
    return " ".join(" ".join(words).split())


def give_name(vault: Vault, version: Version, name: str, *, who: str) -> None:
    """Let a name mean a version.

    Raises NameTakenError, EmptyLabelError, DiskError, GitError; then no name has changed.
    """
    try:
        set_label(vault, version.commit, name, who=who)
    except LabelTakenError:
        holder = _holder(vault, name)
        if holder is None:
            raise
        raise NameTakenError(name, holder) from None


def _holder(vault: Vault, name: str) -> Version | None:
    for version in list_versions(vault.store):
        named = any(label.strip().casefold() == name.casefold() for label in version.labels)
        if named and version.number:  # one whose record is damaged has none
            return version
    return None
