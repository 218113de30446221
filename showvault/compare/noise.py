"""What a vault leaves out of its comparisons: a saved-at time, a counter that a source carries.

A path is a field of a thing with dots, "extra.saved_at"; all that lies under it is left out too.
``*`` stands for any one step. What is left out is still kept, restored and merged.
"""

from collections.abc import Sequence
from dataclasses import replace

from showvault.compare.changes import Change, Changed, Comparison


def leave_out(comparison: Comparison, paths: Sequence[str]) -> Comparison:
    """Return a comparison without changes at these paths; ``left_out`` names those that differ."""
    wanted = [(path, path.split(".")) for path in paths if path]
    kept: list[Change] = []
    found = dict.fromkeys(comparison.left_out)
    for change in comparison.changes:
        left: list[Changed] = []
        for one in _one_by_one(change):
            under = [path for path, steps in wanted if _is_under(one, steps)]
            found |= dict.fromkeys(under)
            if not under:
                left.append(one)
        if not isinstance(change, Changed):
            kept.append(change)
        elif left:
            kept.append(replace(left[0], along=tuple(left[1:])))
    return replace(comparison, changes=tuple(kept), left_out=tuple(sorted(found)))


def _one_by_one(change: Change) -> tuple[Changed, ...]:
    """Return the fields that a change is about, each by itself."""
    return (replace(change, along=()), *change.along) if isinstance(change, Changed) else ()


def _is_under(change: Changed, steps: Sequence[str]) -> bool:
    # Keys of a stranger may hold dots themselves, so steps are compared as they are said.
    said = change.field.split(".")
    return len(said) >= len(steps) and all(
        step in ("*", there) for step, there in zip(steps, said, strict=False)
    )
