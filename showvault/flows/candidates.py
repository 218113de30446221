"""Which files in the watched places are saves: plain files that somebody can see."""

import os
from collections.abc import Iterator, Sequence
from pathlib import Path

PASSING = (".tmp", ".temp", ".part", ".partial", ".crdownload", ".swp", ".lock", "~")
"""Endings of files on their way to being something else (common practice, no source)."""


def is_save(path: Path) -> bool:
    """Tell whether a name is one that a person saves under."""
    name = path.name
    return not name.startswith((".", "~$")) and not name.lower().endswith(PASSING)


def find_saves(roots: Sequence[Path], *, without: Path) -> Iterator[Path]:
    """Yield the saves in the watched places, in the order of their names; links are not followed.

    ``without`` is the vault's own folder, which may lie inside a watched one. A place that cannot
    be read yields nothing.
    """
    for root in roots:
        if root.is_dir():
            yield from _walk(root, without)
        elif root.is_file() and not root.is_symlink():
            yield root


def _walk(folder: Path, without: Path) -> Iterator[Path]:
    try:
        with os.scandir(folder) as found:
            entries = sorted(found, key=lambda entry: entry.name)
    except OSError:
        return
    for entry in entries:
        path = Path(entry.path)
        if not is_save(path):
            continue
        try:
            if entry.is_file(follow_symlinks=False):
                yield path
            elif entry.is_dir(follow_symlinks=False) and path != without:
                yield from _walk(path, without)
        except OSError:  # pragma: no cover  # Linux tells in the list itself what each entry is
            continue
