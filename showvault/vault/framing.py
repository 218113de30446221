"""What git needs to take a folder for a repository at all, made anew where it is damaged.

Without it git answers no question, and whole packs would be taken for damaged ones: so it is looked
at before anything else is.
"""

import re
from pathlib import Path

from showvault.files.disk import DiskError
from showvault.files.durable import make_folder_durably, write_durably
from showvault.vault.git import GitError
from showvault.vault.layout import CONFIG, VaultPaths
from showvault.vault.quarantine import Repair, set_aside
from showvault.vault.store import Store

HEAD = b"ref: refs/heads/main\n"
FOLDERS = ("objects/pack", "objects/info", "refs/heads", "refs/tags", "refs/showvault")
PACKED_REF = re.compile(rb"#.*|\^[0-9a-f]{40}|[0-9a-f]{40} refs/[\x21-\x7e]+")


def mend_frame(paths: VaultPaths, store: Store) -> list[Repair]:
    """Make anew what git refuses to work without; under the writer's lock. Raises DiskError."""
    history = paths.history
    for folder in FOLDERS:
        make_folder_durably(history / folder, disk=store.disk)
    repairs = []
    if _read(history / "HEAD") != HEAD:  # it names the one branch that every clone begins with
        repairs += _replace(paths, store, "HEAD", HEAD)
    settings = _read(history / "config")
    if settings != CONFIG and not (settings and _takes_its_settings(store)):
        repairs += _replace(paths, store, "config", CONFIG)
    packed = _read(history / "packed-refs")
    lines = [line + b"\n" for line in packed.split(b"\n") if PACKED_REF.fullmatch(line)]
    if b"".join(lines) != packed:
        repairs += _replace(paths, store, "packed-refs", b"".join(lines))
    return repairs


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except (FileNotFoundError, IsADirectoryError):
        return b""
    except OSError as error:
        raise DiskError.from_os(error, "read", path) from error


def _replace(paths: VaultPaths, store: Store, name: str, data: bytes) -> list[Repair]:
    place = paths.history / name
    if place.exists():
        set_aside(paths, place, store.disk)
    write_durably(place, data, disk=store.disk)
    store.close()
    return [Repair(f"the history's {name} was damaged; it was made anew")]


def _takes_its_settings(store: Store) -> bool:
    """Whether git can read the settings, and they let it read the objects."""
    try:
        told = store.git.run("rev-parse", "--show-object-format", doing="read the settings")
    except GitError:
        return False
    return told.strip() == b"sha1"
