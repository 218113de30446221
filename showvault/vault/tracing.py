"""Which versions changed one part: asked of git, so that no other version is read."""

from showvault.vault.parts import require_part_names
from showvault.vault.store import Store


def commits_changing(store: Store, path: str, start: str) -> list[str]:
    """Return the commits that gave a part other bytes than before, newest first.

    ``start`` is the commit to look back from, itself included. The commit that brought the part
    counts, and so does one that took it away. Raises UnsafePartNameError, GitError.
    """
    require_part_names([path])
    listed = store.git.run(
        *("rev-list", "--first-parent", start, "--", path), doing="trace a part of the show"
    )
    return listed.decode("ascii").split()
