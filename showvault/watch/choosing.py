"""Whether the system's notices can be had for what is watched, or it must be looked at regularly.

On a network drive the changes of other machines are not told; a drive that can be pulled takes the
system's watches along. There it polls.
"""

from collections.abc import Callable, Sequence
from pathlib import Path

from showvault.files.disk import shown
from showvault.files.places import Storage, storage_of
from showvault.watch.notices import NoNotices, Notifier, SystemNotices


def notifier_for(
    watched: Sequence[Path],
    *,
    force_polling: str = "",
    storage: Callable[[Path], Storage] = storage_of,
) -> tuple[Notifier, str]:
    """Return where notices come from, and why it polls instead; empty when it does not.

    ``force_polling``: the reason to poll wherever the files lie.
    """
    reasons = filter(None, (force_polling, *(_reason_to_poll(path, storage) for path in watched)))
    reason = next(reasons, "")
    return (NoNotices() if reason else SystemNotices()), reason


def _reason_to_poll(path: Path, storage: Callable[[Path], Storage]) -> str:
    match storage(path).kind:
        case "network":
            return f"{shown(path)} is on a network drive, which does not tell of all changes"
        case "removable":
            return f"{shown(path)} is on a drive that can be pulled"
        case _:
            return ""
