"""Which files in the watched places are saves: plain files that somebody can see."""

import os
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

PASSING = (".tmp", ".temp", ".part", ".partial", ".crdownload", ".swp", ".lock", "~")
"""Endings of files on their way to being something else (common practice, no source)."""


def is_save(path: Path) -> bool:
    """Tell whether a name is one that a person saves under."""
    name = path.name
    return not name.startswith((".", "~$")) and not name.lower().endswith(PASSING)


def not_told(folder: Path) -> None:
    """For whoever does not want to know what cannot be looked into."""


def find_saves(
    roots: Sequence[Path], *, without: Path, unreadable: Callable[[Path], object] = not_told
) -> Iterator[Path]:
    """Yield the saves in the watched places, in the order of their names; links are not followed.

    ``without`` is the vault's own folder, which may lie inside a watched one. A place that cannot
    be read yields nothing; ``unreadable`` is told of it.
    """
    for root in roots:
        try:
            is_folder, is_file = root.is_dir(), root.is_file() and not root.is_symlink()
        except OSError:
            unreadable(root)
            continue
        if is_folder:
            yield from _walk(root, without, unreadable)
        elif is_file:
            yield root


class Candidates:
    """Calling it lists the saves in the watched places; what was passed over is remembered."""

    def __init__(self, roots: Sequence[Path], *, without: Path) -> None:
        self._roots = tuple(roots)
        self._without = without
        self.unreadable: tuple[Path, ...] = ()
        """Folders that this user could not look into, the last time."""

    def __call__(self) -> list[Path]:
        passed_over: list[Path] = []
        found = list(find_saves(self._roots, without=self._without, unreadable=passed_over.append))
        self.unreadable = tuple(passed_over)
        return found


def _walk(folder: Path, without: Path, unreadable: Callable[[Path], object]) -> Iterator[Path]:
    try:
        with os.scandir(folder) as found:
            entries = sorted(found, key=lambda entry: entry.name)
    except FileNotFoundError:  # it has just gone
        return
    except OSError:
        unreadable(folder)
        return
    for entry in entries:
        path = Path(entry.path)
        if not is_save(path):
            continue
        try:
            if entry.is_file(follow_symlinks=False):
                yield path
            elif entry.is_dir(follow_symlinks=False) and path != without:
                yield from _walk(path, without, unreadable)
        except OSError:  # pragma: no cover  # Linux tells in the list itself what each entry is
            continue
