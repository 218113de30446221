"""The shows that are staged in somebody's own git repository."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from showvault.compare.differ import compare_shows
from showvault.errors import ShowvaultError
from showvault.files.durable import replace_durably
from showvault.flows.summaries import count_things
from showvault.interchange.registry import choose_reader
from showvault.review.summary import describe
from showvault.show.parts import parts_of_file

if TYPE_CHECKING:
    from git.objects import Blob, Tree


class NoRepositoryError(ShowvaultError):
    """This folder is in no git repository."""

    def __init__(self, folder: Path) -> None:
        super().__init__(f"{folder} is in no git repository", hint="run it where the hooks run")


@dataclass(frozen=True)
class StagedShow:
    """A show as it is staged, and as it was committed before."""

    path: str
    before: bytes | None
    after: bytes


def staged_shows(folder: Path) -> Iterator[StagedShow]:
    """Yield the neutral shows that are staged with changes. Raises NoRepositoryError."""
    from git import Repo
    from git.exc import InvalidGitRepositoryError

    try:
        repository = Repo(folder, search_parent_directories=True)
    except InvalidGitRepositoryError:
        raise NoRepositoryError(folder) from None
    with repository:
        has_commit = repository.head.is_valid()
        for (path, stage), entry in sorted(repository.index.entries.items()):
            if stage != 0 or not str(path).lower().endswith(".json"):
                continue
            before = _committed(repository.head.commit.tree, str(path)) if has_commit else None
            if before is not None and before.binsha == entry.binsha:
                continue
            after = repository.odb.stream(entry.binsha).read()
            if choose_reader(Path(path).name, after).role == "show":
                old = None if before is None else before.data_stream.read()
                yield StagedShow(str(path), old, after)


def offer_summary(folder: Path, message: Path) -> None:
    """Write what changed in the staged shows, in lighting terms, before the message's own text."""
    told = [f"{show.path}: {_describe(show)}" for show in staged_shows(folder)]
    if told:
        own = message.read_bytes() if message.exists() else b""
        replace_durably(message, "\n\n".join(told).encode() + b"\n" + own)


def _describe(show: StagedShow) -> str:
    try:
        after = parts_of_file(show.after, show.path)
        if show.before is None:
            return f"new, {count_things(after)}"
        return describe(compare_shows(parts_of_file(show.before, show.path), after))
    except ShowvaultError as error:
        return f"changed; not described: {error}"


def _committed(tree: "Tree", path: str) -> "Blob | None":
    try:
        found = tree / path
    except KeyError:
        return None
    return found if found.type == "blob" else None
