"""Vaults and versions for tests: short to write, the same every time."""

import os
import subprocess
from collections.abc import Callable, Collection, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from showvault.files.disk import DISK, FileSystem
from showvault.vault.labelling import set_label
from showvault.vault.layout import create_vault
from showvault.vault.opening import Vault, open_vault
from showvault.vault.publishing import PendingVersion, StaleHeadError, publish_version
from showvault.vault.versions import Role, Version, VersionFile

START = datetime(2026, 11, 24, 21, 0, 0, tzinfo=UTC)
SHOW = "/shows/evening.json"


class Ticking:
    """A clock that moves on by a minute each time somebody looks."""

    def __init__(self, now: datetime = START) -> None:
        self.now = now

    def __call__(self) -> datetime:
        self.now += timedelta(minutes=1)
        return self.now


def make_vault(folder: Path, *, disk: FileSystem = DISK, **settings: Any) -> Path:
    """An empty vault at ``folder``."""
    create_vault(
        folder,
        name="Evening",
        watched=[Path(SHOW)],
        clock=Ticking(),
        new_id=lambda: "id",
        disk=disk,
    )
    return folder


def opened(
    folder: Path, *, disk: FileSystem = DISK, environ: Mapping[str, str] = os.environ
) -> Vault:
    """The vault at ``folder``, open."""
    return open_vault(folder, clock=Ticking(), environ=environ, disk=disk)


def pending(
    vault: Vault,
    parts: Mapping[str, bytes],
    *,
    removed: Collection[str] = (),
    data: bytes | None = None,
    path: str = SHOW,
    role: Role = "show",
    **fields: Any,
) -> PendingVersion:
    """A version that follows the newest one."""
    file = VersionFile(path=path, name=Path(path).name, size=0, sha256="", role=role)
    whole = b"".join(parts.values()) if data is None else data
    return PendingVersion(
        parent=vault.store.head(),
        changed=parts,
        removed=removed,
        files=(file,),
        fresh={path: whole},
        **{"time": vault.clock(), "who": "Ada", **fields},
    )


def keep(vault: Vault, parts: Mapping[str, bytes], *, label: str = "", **fields: Any) -> Version:
    """Publish a version that follows the newest one, and give it a label."""
    version = publish_version(vault, pending(vault, parts, **fields))
    if not label:
        return version
    set_label(vault, version.commit, label, who="Ada")
    return replace(version, labels=(label,))


def keep_after_looking_again(vault: Vault, parts: Mapping[str, bytes]) -> Version:
    """As a save does when the newest version became another one since it looked."""
    try:
        return keep(vault, parts)
    except StaleHeadError:
        return keep(vault, parts)


def parts_of(vault: Vault, version: Version) -> dict[str, bytes]:
    """The caller's parts of a version, as the vault gives them back."""
    tree = vault.store.tree(version.commit)
    paths = [path for path in tree if path.startswith("show/")]
    return vault.store.read_parts(version.commit, paths)


Step = Callable[[Vault], object]


def flip(path: Path) -> None:
    """Change one bit in the middle of a file, whoever may write to it."""
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 0x10
    path.chmod(0o600)
    path.write_bytes(data)


def git(folder: Path, *arguments: str, stdin: bytes = b"") -> bytes:
    """What git, as it is installed here, prints of a repository."""
    command = ["git", "--git-dir", str(folder), *arguments]
    return subprocess.run(command, check=True, capture_output=True, input=stdin).stdout
