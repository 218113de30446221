"""Which names a part may have, so that every file system and git itself can hold it."""

from collections.abc import Iterable
from functools import lru_cache

from showvault.errors import ShowvaultError
from showvault.vault.trees import object_id

RECORD = "version.json"
SET_ASIDE = "set-aside"
FORBIDDEN = frozenset('"\\:*?<>|')
RESERVED = frozenset(
    {"con", "prn", "aux", "nul"}
    | {f"{device}{digit}" for device in ("com", "lpt") for digit in "0123456789"}
)
"""Devices on Windows, with any ending (Microsoft, "Naming Files, Paths, and Namespaces")."""

SEGMENT_BYTES = 255


class UnsafePartNameError(ShowvaultError):
    """A part's name would not be safe on every file system."""

    def __init__(self, path: str) -> None:
        super().__init__(f"a part cannot be stored under the name {path!r}")
        self.path = path


def require_part_names(paths: Iterable[str]) -> None:
    """Raise UnsafePartNameError for the first of ``paths`` that is not safe or not the caller's."""
    for path in paths:
        if not _is_safe_path(path):
            raise UnsafePartNameError(path)


def blob_id(data: bytes) -> str:
    """The name git gives to ``data``: SHA-1 of "blob", the size and the bytes (git, gitformat)."""
    return object_id("blob", data)


def safe_name(name: str, *, longest: int = 120) -> str:
    """``name`` as a file name that any file system takes; its ending is kept.

    ``longest`` is in bytes of UTF-8.
    """
    letters = [letter if _is_safe_letter(letter) else "_" for letter in name]
    cleaned = "".join(letters).strip(" .") or "show"
    stem, dot, ending = cleaned.rpartition(".")
    if not dot or len(ending.encode()) > 16:
        stem, dot, ending = cleaned, "", ""
    if stem.split(".")[0].lower().rstrip() in RESERVED or stem.lower() == ".git":
        stem = "_" + stem
    room = longest - len((dot + ending).encode())
    stem = stem.encode("utf-8", "replace")[:room].decode("utf-8", "ignore").rstrip(" .")
    return stem + dot + ending


@lru_cache(maxsize=50_000)  # the same names come again with every save
def _is_safe_path(path: str) -> bool:
    segments = path.split("/")
    return segments[0] not in (RECORD, SET_ASIDE) and all(map(_is_safe, segments))


def _is_safe(segment: str) -> bool:
    return (
        segment not in ("", ".", "..")
        and segment.lower() not in (".git", "git~1")
        and segment[-1] not in " ."
        and segment.split(".")[0].lower().rstrip() not in RESERVED
        and len(segment.encode("utf-8", "replace")) <= SEGMENT_BYTES
        and all(map(_is_safe_letter, segment))
    )


def _is_safe_letter(letter: str) -> bool:
    return letter.isprintable() and letter not in FORBIDDEN and letter != "/"
